"""Migrations of notices; never edited once on main."""
