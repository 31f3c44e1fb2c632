"""What each assembly of a round may need, from its tests and its peers."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from datetime import date

from registry.domain.kinds import UNTESTED_TYPES
from registry.models import Assembly, Program
from reports.domain.bringing import Need
from reports.domain.risk import Chance, Unknown, at_least_one
from reports.models import FieldTest
from reports.queries.certificates import CERTIFIED
from reports.queries.trends import Histories, Peers, chances, histories, peers_of

_SEATED = ("check", "check1", "check2", "bypass_check1", "bypass_check2")
"""Readings of what closes on a seat; a difference of two readings is neither."""


def counted_tests(assemblies: Collection[Assembly]) -> dict[int, list[FieldTest]]:
    """The counted tests of each assembly, oldest first. One query."""
    found: dict[int, list[FieldTest]] = {}
    tests = FieldTest.objects.filter(assembly__in=[one.pk for one in assemblies], counts=True)
    for test in tests.filter(outcome__in=CERTIFIED).order_by("tested_on", "pk"):
        if test.assembly_id is not None:
            found.setdefault(test.assembly_id, []).append(test)
    return found


def needs_of(
    assemblies: Collection[Assembly],
    *,
    tests: Mapping[int, list[FieldTest]],
    program: Program,
    on: date,
) -> dict[int, Need]:
    """The needs of these assemblies on a day; none for types without a test. Two queries a type."""
    tested = [one for one in assemblies if one.type not in UNTESTED_TYPES]
    peers = {
        type_: peers_of(program=program, type_=type_, by=on)
        for type_ in dict.fromkeys(one.type for one in tested)
    }
    return {
        one.pk: _need(one, courses=histories(tests.get(one.pk, [])), peers=peers[one.type], on=on)
        for one in tested
    }


def _need(one: Assembly, *, courses: Histories, peers: Peers, on: date) -> Need:
    state = getattr(one, "state", None)
    told = chances(
        one,
        courses=courses,
        peers=peers,
        next_on=on,
        installed_on=state.installed_on if state else None,
    )
    shares = {name: _share(name, chance, courses=courses) for name, chance in told.items()}
    kit = 1.0 if state and state.failed_on else _any(shares)
    seats = {name: share for name, share in shares.items() if name in _SEATED}
    return Need(
        type=one.type,
        size_in=one.size_in,
        maker=one.maker,
        model=one.model,
        kit=kit,
        seat=_any(seats),
    )


def _share(name: str, chance: Chance | Unknown, *, courses: Histories) -> float | None:
    if isinstance(chance, Chance):
        return chance.share
    last = courses[name][-1]
    fails = last.left is None and last.found_failing
    fails = fails or (last.left is not None and last.limit is not None and last.left < last.limit)
    return 1.0 if fails else None


def _any(shares: Mapping[str, float | None]) -> float | None:
    if any(share == 1.0 for share in shares.values()):
        return 1.0
    known = [share for share in shares.values() if share is not None]
    return at_least_one(known) if known and len(known) == len(shares) else None
