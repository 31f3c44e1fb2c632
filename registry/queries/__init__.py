"""Questions to the registry that several floors ask."""
