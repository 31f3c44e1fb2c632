"""Entering field tests: the form, its actions, its device."""
