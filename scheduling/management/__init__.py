"""Management commands of scheduling."""
