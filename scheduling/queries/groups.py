"""Groups for a decision: a street, an owner, a service, a list of serials."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Final

from django.db.models import Exists, OuterRef, Q, QuerySet

from registry.domain.identity import serial_key
from registry.domain.kinds import PartyRole
from registry.models import Assembly, PremisesParty, Program
from scheduling.domain.decisions import Decision
from scheduling.domain.facts import Fact
from scheduling.domain.replay import replay
from scheduling.domain.standing import Standing, standing
from scheduling.queries.rulebooks import books_of
from scheduling.queries.subjects import subjects

TESTS, PLACES, BOTH = "tests", "places", "both"
"""What of a group is meant: its assemblies, what its premises and services owe, or both."""

_OF_WORDS: Final = {
    TESTS: "",
    PLACES: ": surveys and protection only",
    BOTH: ": assemblies, surveys and protection",
}


@dataclass(frozen=True, kw_only=True)
class Wanted:
    """Who is meant; what is left empty asks nothing, and all of it empty means nobody.

    `of`: TESTS, PLACES or BOTH.
    """

    street: str = ""
    city: str = ""
    owner: str = ""
    use: str = ""
    service: str | None = None
    serials: tuple[str, ...] = ()
    everybody: bool = False
    of: str = TESTS

    @property
    def is_empty(self) -> bool:
        """Whether nothing was asked."""
        asked = (self.street, self.city, self.owner, self.use, self.serials, self.everybody)
        return not any(asked) and self.service is None

    @property
    def words(self) -> str:
        """How they were found, as a sentence keeps it."""
        parts = [
            f"address with “{self.street}”" if self.street else "",
            f"city {self.city}" if self.city else "",
            f"owner or customer with “{self.owner}”" if self.owner else "",
            f"use {self.use}" if self.use else "",
            f"service {self.service or 'not recorded'}" if self.service is not None else "",
            f"serials {', '.join(self.serials)}" if self.serials else "",
        ]
        who = "; ".join(part for part in parts if part)
        everybody = "every assembly of the program" if self.of == TESTS else "the whole program"
        return f"{who or everybody}{_OF_WORDS[self.of]}"


def group_of(program: Program, wanted: Wanted) -> QuerySet[Assembly]:
    """The assemblies in place that are meant, by address and serial; none where nothing is."""
    found = Assembly.objects.filter(program=program, state__removed_on__isnull=True)
    if wanted.is_empty or wanted.of == PLACES:
        return found.none()
    if wanted.service is not None:
        found = found.filter(connection__kind=wanted.service)
    if wanted.serials:
        found = found.filter(serial_key__in=[serial_key(one) for one in wanted.serials])
    found = found.filter(sites_of(wanted, at="premises__"))
    return found.order_by("premises__address", "serial", "pk")


def sites_of(wanted: Wanted, *, at: str = "") -> Q:
    """Return the condition that a premises, at that end of a join, is one of those meant."""
    found = Q()
    if wanted.street:
        found &= Q(**{f"{at}address__icontains": wanted.street})
    if wanted.city:
        found &= Q(**{f"{at}city__iexact": wanted.city})
    if wanted.use:
        found &= Q(**{f"{at}use__iexact": wanted.use})
    if wanted.owner:
        named = PremisesParty.objects.filter(
            premises=OuterRef(f"{at}pk"),
            until_on__isnull=True,
            role__in=[PartyRole.OWNER, PartyRole.CUSTOMER],
            party__name__icontains=wanted.owner,
        )
        found &= Q(Exists(named))
    return found


def digest_of(members: Sequence[str]) -> str:
    """A short mark of a list of members, to see that it is still the same."""
    return hashlib.sha256(",".join(sorted(members)).encode()).hexdigest()[:16]


@dataclass(frozen=True, kw_only=True)
class Foreseen:
    """What a decision would make of one assembly."""

    due_on: date | None
    standing: Standing
    questions: tuple[str, ...]


def foreseen(
    *, program: Program, ids: Sequence[int], decision: Decision | None, today: date
) -> dict[int, Foreseen]:
    """Return where assemblies would stand with a decision (None: as they are); writes nothing.

    With one that begins on a day to come: where they would stand on that day.
    """
    day = today if decision is None else max(today, decision.on)
    books = books_of(program)
    found = {}
    for subject in subjects(program=program, assembly_ids=ids, rulebooks=books.dated):
        facts = [*subject.facts, *brought(decision)]
        ledger = replay(timeline=subject.timeline, facts=facts, left={}, as_of=day)
        current = ledger.current
        found[subject.assembly_id] = Foreseen(
            due_on=current.due_on if current else None,
            standing=standing(ledger=ledger, day=day),
            questions=ledger.questions,
        )
    return found


def brought(decision: Decision | None) -> list[Fact]:
    """Return the fact that a decision would bring; nothing of none."""
    if decision is None:
        return []
    return [Fact(kind=decision.kind, on=decision.on, until=decision.until, sequence=2**62)]
