"""The whole job on a rig made of software, through the same commands as on hardware."""
