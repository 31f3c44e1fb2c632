"""The demo: an invented district on one day of its own, through the real commands."""
