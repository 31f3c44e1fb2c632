"""Backups: one folder with the database, and a manifest that says what must be in it."""
