"""Registry: what is installed, where, for whom, against what hazard."""
