"""Ladders in print, lived through day by day in an office with the place's rulebook in force."""
