"""What the recipient of a letter may say on the owner's page; a person reads it."""

from __future__ import annotations

from enum import StrEnum

from notices.domain.wording import N_


class OwnerSays(StrEnum):
    """What it is about."""

    GONE = "gone"
    EMPTY = "empty"
    WRONG_ADDRESS = "wrong address"
    OBJECTION = "objection"
    OTHER = "other"


CHOICES = {
    OwnerSays.GONE: N_("The assembly is gone"),
    OwnerSays.EMPTY: N_("The building is empty"),
    OwnerSays.WRONG_ADDRESS: N_("The address or the name is wrong"),
    OwnerSays.OBJECTION: N_("I object, or I want to be heard"),
    OwnerSays.OTHER: N_("Something else"),
}
"""How the page says each."""

FOR_THE_OFFICE = {
    OwnerSays.GONE: "says that the assembly is gone",
    OwnerSays.EMPTY: "says that the building is empty",
    OwnerSays.WRONG_ADDRESS: "says that the address or the name is wrong",
    OwnerSays.OBJECTION: "objects, or wants to be heard",
    OwnerSays.OTHER: "writes",
}
"""How Today says each."""

MOST_A_DAY = 5
"""Messages that one letter's page takes in 24 hours: enough for a person, too few for a flood."""

LONGEST = 1000
"""Letters of one message that are kept."""
