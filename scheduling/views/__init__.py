"""Pages of the office that look at and change the registry and its rules."""
