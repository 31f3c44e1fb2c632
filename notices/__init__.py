"""Notices: letters composed, released, delivered and kept as sent."""
