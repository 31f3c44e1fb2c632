"""Management commands of the project as a whole."""
