"""Management commands of registry."""
