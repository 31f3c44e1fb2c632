"""Migrations of reports; never edited once on main."""
