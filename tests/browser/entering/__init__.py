"""Entering field tests in a real browser: the form, the flight mode, the outbox."""
