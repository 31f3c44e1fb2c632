"""Migrations of scheduling; never edited once on main."""
