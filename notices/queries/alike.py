"""Obligations that stand alike are worked out once by the ladder: values, not model objects.

Whatever is out of the ordinary (a notice that has not left or went in error, a new responsible
party, a row that took another's place, a hold, a ladder that waits for receipts) is left to the
reading one by one.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from operator import itemgetter
from typing import Any, Final

from django.db import connection
from django.db.models import TextField
from django.db.models.functions import Cast

from notices.domain.kinds import LetterKind
from notices.domain.owing import RESTART_MARK
from notices.models import Notice
from notices.queries.holds import Held, held_places
from notices.queries.ladders import ladder_of
from notices.queries.owed import obligations_to_look_at
from registry.models import Program
from scheduling.closed_days import closed_days
from scheduling.domain.ladders import Ladder, LeftRung, RungStep, next_rung
from scheduling.domain.matching import Attributes
from scheduling.domain.workdays import Holidays
from scheduling.models import Adoption, Obligation, Rulebook
from scheduling.queries.obligations import as_domain
from scheduling.queries.shapes import SHAPE, shape_of

READ: Final = (
    "kind",
    "opens_on",
    "due_on",
    "failed_on",
    "cure_by",
    "target_on",
    "opened_on",
    "rulebook_id",
    "prompts",
    "detail",
)
"""What a ladder asks of a row, and what rows that stand alike have in common."""

JSON: Final = ("prompts", "detail")
DAYS: Final = ("opens_on", "due_on", "failed_on", "cure_by", "target_on", "opened_on")
"""Columns of READ that are read as text, since few rows differ in them, and made out once."""

SUBJECT: Final = tuple(f"assembly__{name}" for name in SHAPE)
"""What a ladder that tells subjects apart asks besides."""

BATCH = 2_000
"""Rows whose notices are read at a time."""


@dataclass(slots=True)
class Alike:
    """Rows of which the ladder says the same; `made` is for the caller to keep what he made."""

    step: RungStep | None
    ladder: Ladder
    values: Mapping[str, Any]
    is_owed: bool
    is_ordinary: bool
    """Not owed, or a letter that needs no question asked first."""

    made: Any = None


@dataclass(slots=True)
class Rows:
    """What is to be looked at on a day: plain rows by their likes, and the ids of the others."""

    told: list[tuple[Any, ...]] = field(default_factory=list)
    asked: tuple[str, ...] = ()
    ladders: Mapping[int, Ladder] = field(default_factory=dict)
    left: Mapping[int, tuple[LeftRung, ...]] = field(default_factory=dict)
    unusual: set[int] = field(default_factory=set)
    holidays: Holidays = frozenset()


Stored = date | str | None
"""A day as the database hands it out where it is not made a date."""

Told = tuple[int, int, int, Stored, Alike]
"""Obligation, assembly, premises, the stored next day, and its likes."""


def rows_to_look_at(program: Program, *, today: date, besides: Sequence[str] = ()) -> Rows:
    """Read the rows whose next day has come as plain values, with what had left for them.

    `besides`: further columns by which rows are told apart. Obligations of services and
    premises are no part of it.
    """
    ladders = _ladders(program)
    if any(ladder.waits_for_delivery for ladder in ladders.values()):
        return Rows()
    apart = SUBJECT if any(ladder.tells_subjects_apart for ladder in ladders.values()) else ()
    asked = tuple(dict.fromkeys((*READ, *apart, *besides)))
    told = _rows(program, asked=asked, ladders=ladders, today=today)
    left, unusual = _told_already(program, today=today)
    unusual |= _held_among(told, held=held_places(program, today=today))
    return Rows(told, asked, ladders, left, unusual, closed_days(program.state))


def alike(rows: Rows, *, today: date) -> Iterator[Told]:
    """Yield each ordinary row with what the ladder says of it and its likes."""
    known: dict[tuple[Any, ...], Alike] = {}
    unusual, left = rows.unusual, rows.left
    for pk, assembly_id, premises_id, next_on, *rest in rows.told:
        if pk in unusual:
            continue
        gone = left.get(pk, ())
        key = (*rest, gone)
        like = known.get(key)
        if like is None:
            values = dict(zip(rows.asked, rest, strict=True))
            values |= {name: json.loads(values[name]) for name in JSON}
            values |= {name: day_of(values[name]) for name in DAYS}
            like = known[key] = _worked_out(values, gone=gone, rows=rows, today=today)
        yield pk, assembly_id, premises_id, next_on, like


def day_of(stored: Stored) -> date | None:
    """Return a stored day as a date."""
    return date.fromisoformat(stored) if isinstance(stored, str) else stored


def row_of(values: Mapping[str, Any]) -> Obligation:
    """Return a row that stands for all with these values of READ; its origin is any."""
    return Obligation(
        origin="cycle:2000-01-01", period="2000-01-01", **{name: values[name] for name in READ}
    )


def _held_among(told: Sequence[tuple[Any, ...]], *, held: Held) -> set[int]:
    if not any((held.obligations, held.premises, held.assemblies)):
        return set()
    return {
        pk
        for pk, assembly_id, premises_id, *_ in told
        if held.has(obligation_id=pk, assembly_id=assembly_id, premises_id=premises_id)
    }


def _rows(
    program: Program, *, asked: Sequence[str], ladders: Mapping[int, Ladder], today: date
) -> list[tuple[Any, ...]]:
    """Read the rows to look at, in their order: ids, the stored next day, and what is asked."""
    rows = obligations_to_look_at(program, today=today).filter(
        assembly__isnull=False, lawful_since__isnull=True, rulebook__in=ladders
    )
    # SQLite keeps days as text: made dates row by row they cost more than all the rest.
    plain = JSON if connection.vendor == "postgresql" else (*JSON, *DAYS, "next_action_on")
    told = rows.values_list(
        "pk", "assembly_id", "assembly__premises_id",
        *(Cast(one, TextField()) if one in plain else one for one in ("next_action_on", *asked)),
    )  # fmt: skip
    return sorted(told, key=itemgetter(0))


def _ladders(program: Program) -> dict[int, Ladder]:
    """Return the whole ladder of every rulebook that a program has adopted, by its row."""
    adopted = Adoption.objects.filter(program=program).values("rulebook_id")
    return {row.pk: ladder_of(row) for row in Rulebook.objects.filter(pk__in=adopted)}


def _told_already(
    program: Program, *, today: date
) -> tuple[dict[int, tuple[LeftRung, ...]], set[int]]:
    """Return what had left for each row to look at, and the rows that are out of the ordinary.

    The rows are named to the database as a question: their ids are very many.
    """
    looked_at = obligations_to_look_at(program, today=today).values("pk")
    unusual = set(
        Obligation.objects.filter(successor__in=looked_at)
        .order_by()
        .values_list("successor_id", flat=True)
    )
    left: dict[int, tuple[LeftRung, ...]] = {}
    notices = Notice.objects.filter(obligation__in=looked_at)
    for pk, rung, occurrence, left_on, withdrawn_on, in_error_on in notices.order_by(
        "left_on", "pk"
    ).values_list(
        "obligation_id", "rung", "occurrence", "left_on", "withdrawn_on", "sent_in_error_on"
    ):
        is_plain = RESTART_MARK not in occurrence and withdrawn_on is None
        if left_on is None or left_on > today or in_error_on is not None or not is_plain:
            unusual.add(pk)
        else:
            gone = LeftRung(rung=rung, occurrence=occurrence, left_on=left_on)
            left[pk] = (*left.get(pk, ()), gone)
    return left, unusual


def _worked_out(
    values: Mapping[str, Any], *, gone: Sequence[LeftRung], rows: Rows, today: date
) -> Alike:
    """Return what the ladder says of a row with these values."""
    row = row_of(values)
    has_subject = all(name in values for name in SUBJECT)
    attributes = shape_of(values, prefix="assembly__") if has_subject else Attributes()
    ladder = rows.ladders[row.rulebook_id].for_kind(kind=row.kind, attributes=attributes)
    step = next_rung(
        ladder=ladder, obligation=as_domain(row), left=gone, today=today, holidays=rows.holidays
    )
    is_owed = step is not None and step.on <= today
    is_ordinary = step is None or not is_owed or _needs_no_question(step)
    return Alike(step, ladder, values, is_owed, is_ordinary)


def _needs_no_question(step: RungStep) -> bool:
    return not step.rung.is_order and step.rung.words in set(LetterKind)
