"""How a letter that was mailed too late for its days says so."""

from __future__ import annotations

MAILED_LATE = "Mailed late"
"""How the reason begins that a letter's days were too short."""
