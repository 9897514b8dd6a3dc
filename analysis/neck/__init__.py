"""One state of the neck: tops, relief, twist, with their uncertainties."""
