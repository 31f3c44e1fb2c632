"""Management commands of notices."""
