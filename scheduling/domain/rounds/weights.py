"""What the search weighs against what: points of visits, minutes of driving, minutes out."""

from __future__ import annotations

DRIVE_MINUTE_COST = 10
OUT_MINUTE_COST = 1
"""A minute at the wheel costs ten, any minute away from the depot (waiting too) one more."""

PRIZE_PER_POINT = 100
"""The least urgent visit (100 points) earns 10,000; a whole day of driving costs 5,610."""
