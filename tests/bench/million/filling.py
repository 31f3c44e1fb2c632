"""Writes the rows of a registry of any size: COPY on PostgreSQL, executemany on SQLite."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from typing import Any

from django.db import connection, models
from psycopg.types.json import Json, Jsonb

from notices.models import Notice
from registry.models import Assembly, HazardAssessment, Premises, Program, ServiceConnection
from scheduling.actions.adoption import ensure_rulebooks, put_in_force
from scheduling.actions.storing import RowSource, values_of
from scheduling.domain.facts import Fact as Event
from scheduling.domain.ladders import LeftRung
from scheduling.domain.likeness import likeness_of, rounds_of
from scheduling.domain.standing import dates_of
from scheduling.domain.timeline import AttributesFrom
from scheduling.models import Adoption, AssemblyState, Fact, Obligation, ProgramClock
from scheduling.queries.rulebooks import rulebook_in_force
from tests.bench.million.lives import ALWAYS, DAY, YESTERDAY, Life, letters_of, lives
from tests.bench.million.writing import settle, without_indexes, write

AT = datetime(2019, 1, 2, 12, tzinfo=UTC)
LATER = datetime(2025, 11, 24, 12, tzinfo=UTC)
PROGRAMS = (("elk-bend", "plain-rolling", 50), ("gravel-hill", "plain-anniversary", 30),
            ("stone-ford", "plain-season", 20))  # fmt: skip
"""Code, rulebook, per cent of the assemblies: of a million the first has 500,000."""

LIVES = 2_000


@dataclass(frozen=True, slots=True)
class Pattern:
    """A row as the database takes it, to be copied with other ids."""

    values: list[Any]
    place: dict[str, int]


@dataclass(frozen=True, slots=True, kw_only=True)
class Mould:
    """The rows of one life without their ids."""

    assembly: Pattern
    premises: Pattern
    facts: list[Pattern]
    obligations: list[Pattern]
    state: Pattern
    assessment: Pattern
    notices: list[tuple[int, Pattern]]


@dataclass(frozen=True, slots=True, kw_only=True)
class Share:
    """The part of a registry that one program holds: its moulds and the ids it takes."""

    program: Program
    moulds: list[Mould]
    first: int
    count: int

    def each(self) -> Iterator[tuple[int, Mould]]:
        """Yield the ids with the mould each is made from."""
        for number in range(self.first, self.first + self.count):
            yield number, self.moulds[number * 7919 % len(self.moulds)]


def fill(*, size: int, first: int = 1, seed: int = 1, only_quiet: bool = False) -> list[Share]:
    """Write `size` assemblies with ids from `first` on, and all that happened to them.

    `only_quiet`: of lives of which the measured day asks nothing.
    """
    shares = _shares(size=size, first=first, seed=seed, only_quiet=only_quiet)
    tables: list[tuple[type[models.Model], Iterable[list[Any]]]] = [
        (Premises, (row for share in shares for row in _premises(share))),
        (ServiceConnection, (row for share in shares for row in _connections(share))),
        (Assembly, (row for share in shares for row in _assemblies(share))),
        (HazardAssessment, (row for share in shares for row in _assessments(share))),
        (AssemblyState, (row for share in shares for row in _states(share))),
        (Fact, (row for share in shares for row in _facts(share))),
        (Obligation, (row for share in shares for row in _obligations(share))),
        (Notice, (row for share in shares for row in _notices(share))),
    ]
    with without_indexes([model for model, _ in tables]):
        for model, rows in tables:
            write(model, rows)
    settle([model for model, _ in tables])
    return shares


def _shares(*, size: int, first: int, seed: int, only_quiet: bool) -> list[Share]:
    ensure_rulebooks()
    shares = []
    for place, (code, name, per_cent) in enumerate(PROGRAMS):
        program, is_new = Program.objects.get_or_create(
            code=code, defaults={"name": code, "created_at": AT, "is_trial": True}
        )
        if is_new:
            put_in_force(program=program, name=name, effective_on=ALWAYS, at=AT)
            ProgramClock.objects.create(program=program, last_run_on=YESTERDAY)
        found = lives(
            rulebook=rulebook_in_force(program=program, on=DAY), count=LIVES, seed=seed + place
        )
        adoption = Adoption.objects.get(program=program, effective_on=ALWAYS)
        moulds = [
            _mould(life, program=program, rulebook_id=adoption.rulebook_id)
            for life in found
            if life.is_quiet or not only_quiet
        ]
        count = size * per_cent // 100
        shares.append(Share(program=program, moulds=moulds, first=first, count=count))
        first += count
    return shares


def _mould(life: Life, *, program: Program, rulebook_id: int) -> Mould:
    what = life.attributes
    assert what.type is not None
    alike = likeness_of(
        shapes=(AttributesFrom(on=date.min, attributes=what),),
        facts=life.facts, ledger=life.ledger,
    )  # fmt: skip
    source = RowSource(
        program=program, assembly_id=0, next_actions=life.ledger.next_actions,
        rulebook_ids={row.rulebook: rulebook_id for row in life.rows},
        as_of=YESTERDAY, at=LATER, rounds=rounds_of(life.facts),
        likeness=alike,
    )  # fmt: skip
    return Mould(
        premises=_pattern(Premises(program=program, city="Tamarack Flats", state="WA")),
        assembly=_pattern(
            Assembly(
                program=program, premises_id=0, connection_id=0, type=what.type.value,
                maker="Northfork", maker_key="NORTHFORK", size_in=Decimal("1.000"),
                hazard=what.hazard.value, protects=what.protects.value, created_at=AT,
                location=what.service.value,
            )
        ),
        facts=[_fact(fact, program=program) for fact in life.facts],
        obligations=[
            _pattern(
                Obligation(
                    program=program, assembly_id=0, kind=row.kind, updated_at=LATER,
                    opened_on=None if row.is_coming else row.opens_on,
                    **values_of(row, source=source),
                )
            )
            for row in life.rows
        ],
        state=_state(life, program=program, likeness=alike.words if alike is not None else ""),
        assessment=_pattern(
            HazardAssessment(premises_id=0, assembly_id=0, assessed_on=ALWAYS,
                             hazard=what.hazard.value, recorded_at=AT)
        ),
        notices=[(n, _notice(rung, program=program)) for n, rung in letters_of(life)],
    )  # fmt: skip


def _fact(fact: Event, *, program: Program) -> Pattern:
    flags = ("found_failed", "repaired_inside")
    detail = {name: True for name in flags if getattr(fact, name)}
    return _pattern(
        Fact(program=program, assembly_id=0, kind=fact.kind.value, on=fact.on, detail=detail,
             source="stated", recorded_at=_noon(fact.on), by="load")
    )  # fmt: skip


def _notice(rung: LeftRung, *, program: Program) -> Pattern:
    return _pattern(
        Notice(
            program=program,
            obligation_id=0,
            assembly_id=0,
            premises_id=0,
            rung=rung.rung,
            occurrence=rung.occurrence,
            owed_on=rung.left_on,
            recorded_on=rung.left_on,
            left_on=rung.left_on,
        )
    )


def _state(life: Life, *, program: Program, likeness: str) -> Pattern:
    dates, current = dates_of(life.ledger), life.ledger.current
    return _pattern(
        AssemblyState(
            assembly_id=0, program=program, installed_on=life.ledger.installed_on,
            last_passed_on=dates.last_passed_on, removed_on=dates.removed_on,
            idle_since=dates.idle_since, is_exempt=dates.is_exempt, failed_on=dates.failed_on,
            opens_on=dates.opens_on, due_on=dates.due_on,
            cure_by=current.cure_by if current is not None else None,
            likeness=likeness, replayed_as_of=YESTERDAY, replayed_at=LATER,
        )
    )  # fmt: skip


def _noon(day: date) -> datetime:
    return datetime(day.year, day.month, day.day, 12, tzinfo=UTC) + timedelta(days=1)


def _pattern(row: models.Model) -> Pattern:
    fields = row._meta.concrete_fields
    values = [f.get_db_prep_save(getattr(row, f.attname), connection) for f in fields]
    if connection.vendor == "postgresql":
        values = [_as_text(value) for value in values]
    return Pattern(values=values, place={f.attname: n for n, f in enumerate(fields)})


def _as_text(value: Any) -> str:
    if value is None:
        return "\\N"
    if isinstance(value, Json | Jsonb):
        value = json.dumps(value.obj)
    return str(value).replace("\\", "\\\\").replace("\t", "\\t").replace("\n", "\\n")


def _made(pattern: Pattern, **given: Any) -> list[Any]:
    row = pattern.values.copy()
    for name, value in given.items():
        row[pattern.place[name]] = value
    return row


def _site(number: int) -> int:
    """Two assemblies stand at each premises; odd and even lives meet there."""
    return (number + 1) // 2


def _premises(share: Share) -> Iterator[list[Any]]:
    last = 0
    for number, mould in share.each():
        site = _site(number)
        if site != last and (number % 2 or number == share.first):
            address = f"{site} Yarrow Ct"
            yield _made(mould.premises, id=site, key=str(site), address=address, account=f"A{site}")
        last = site


def _connections(share: Share) -> Iterator[list[Any]]:
    patterns = {}
    for number, mould in share.each():
        kind = mould.assembly.values[mould.assembly.place["location"]]
        if kind not in patterns:
            patterns[kind] = _pattern(ServiceConnection(premises_id=0, kind=kind))
        yield _made(patterns[kind], id=number, premises_id=_site(number), name=str(number))


def _assemblies(share: Share) -> Iterator[list[Any]]:
    for number, mould in share.each():
        serial = f"NF{number:08d}"
        yield _made(
            mould.assembly, id=number, premises_id=_site(number), connection_id=number,
            serial=serial, serial_key=serial,
        )  # fmt: skip


def _assessments(share: Share) -> Iterator[list[Any]]:
    for number, mould in share.each():
        yield _made(mould.assessment, id=number, premises_id=_site(number), assembly_id=number)


def _states(share: Share) -> Iterator[list[Any]]:
    for number, mould in share.each():
        yield _made(mould.state, assembly_id=number)


def _facts(share: Share) -> Iterator[list[Any]]:
    for number, mould in share.each():
        for place, pattern in enumerate(mould.facts):
            yield _made(pattern, id=number * 64 + place, assembly_id=number)


def _obligation_id(mould: Mould, *, number: int, place: int) -> int:
    """The newer a round, the higher: as in an office that opened one round after the other."""
    return (65 + place - len(mould.obligations)) * 100_000_000 + number


def _obligations(share: Share) -> Iterator[list[Any]]:
    for age in reversed(range(max(len(mould.obligations) for mould in share.moulds))):
        for number, mould in share.each():
            if (at := len(mould.obligations) - 1 - age) >= 0:
                own = _obligation_id(mould, number=number, place=at)
                yield _made(mould.obligations[at], id=own, assembly_id=number)


def _notices(share: Share) -> Iterator[list[Any]]:
    for number, mould in share.each():
        for place, (owed, pattern) in enumerate(mould.notices):
            of = _obligation_id(mould, number=number, place=owed)
            yield _made(
                pattern, id=number * 64 + place, assembly_id=number, premises_id=_site(number),
                obligation_id=of, matter_key=f"obligation:{of}",
            )  # fmt: skip
