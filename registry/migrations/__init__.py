"""Migrations of registry; never edited once on main."""
