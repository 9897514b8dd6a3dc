"""From scan files to necks: which calibrations apply, and the analysis they are fed to."""
