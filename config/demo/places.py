"""The demo under the rulebook of a place: its gaps filled, kept as the program's own rulebook."""

from __future__ import annotations

import hashlib
from datetime import datetime, time
from zoneinfo import ZoneInfo

from django.db import transaction

from config.demo import district
from config.demo.invented import filled_text
from registry.console import Refused
from registry.models import Program
from scheduling.domain.rulebook_text import read_rulebook
from scheduling.models import Rulebook
from scheduling.queries.shipped import shipped_names, shipped_rulebook


def places() -> list[str]:
    """Return the rulebooks of places that the demo may live by."""
    return [name for name in shipped_names() if shipped_rulebook(name).place]


def state_of(place: str) -> str:
    """Return the state a place's days of work go by: that of its name, else the district's."""
    ending = place.rpartition("-")[2]
    return ending.upper() if len(ending) == 2 else "WA"


@transaction.atomic
def place_in_force(place: str) -> Program:
    """Make the trial, if it is not there, with a place's rulebook to load under.

    Doing it again changes nothing. Raises Refused for a place nobody knows.
    """
    if place not in places():
        raise Refused(f"No place is called {place!r}. There are {', '.join(places())}.")
    moment = datetime.combine(district.AS_OF, time(12), tzinfo=ZoneInfo(district.ZONE))
    program, _ = Program.objects.get_or_create(
        code=district.CODE,
        defaults={
            "name": district.NAME,
            "zone": district.ZONE,
            "is_trial": True,
            "contacts": {"fire_department": district.FIRE_DEPARTMENT},
            "created_at": moment,
        },
    )
    text = filled_text(place)
    book = read_rulebook(text)
    Rulebook.objects.get_or_create(
        name=place,
        program=program,
        defaults={
            "title": book.title,
            "text": text,
            "sha256": hashlib.sha256(text.encode()).hexdigest(),
            "gaps": list(book.gaps),
            "loaded_at": moment,
        },
    )
    return program
