"""Management commands of reports."""
