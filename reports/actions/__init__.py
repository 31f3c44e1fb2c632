"""Changing things: one action, one transaction."""
