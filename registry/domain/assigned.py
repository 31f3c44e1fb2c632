"""How a premises came to a testing company: what a person did stands before any plan or sheet."""

from __future__ import annotations

from enum import StrEnum


class HowAssigned(StrEnum):
    """Who or what made an assignment."""

    PLAN = "plan"
    """The next plan may take it back."""
    HAND = "by hand"
    FILE = "by file"
    """By a person, with a file of premises and companies."""
    LOAD = "by a load"
    """By a column of the registry's spreadsheet; the next sheet may change it."""
