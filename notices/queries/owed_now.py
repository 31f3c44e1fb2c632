"""All that is owed on a day and has no letter yet, for pages that show it and write nothing.

What stands alike is worked out once, from plain values; the rest is read one by one, as the
day's run does. Both ways say the same.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import date
from typing import Any

from notices.domain.owing import OwedNotice, Urgency, urgency_of
from notices.queries.addressees import Wanted, addressees, nobody_to_write_to
from notices.queries.alike import Alike, alike, rows_to_look_at
from notices.queries.ladders import keys_of
from notices.queries.owed import obligations_to_look_at, owed_notices, positions
from registry.batches import in_batches
from registry.domain.kinds import Hazard
from registry.models import Program

PAGE = 500
"""Obligations read one by one at a time."""

HAZARD = "assembly__hazard"

_Owed = tuple[int, int, int, Alike]


def owed_now(program: Program, *, today: date) -> list[OwedNotice]:
    """Return what is owed and has no live letter yet. What became of each row is not written."""
    ids = set(obligations_to_look_at(program, today=today).values_list("pk", flat=True))
    rows = rows_to_look_at(program, today=today, besides=(HAZARD,))
    plain: list[_Owed] = []
    for pk, assembly_id, premises_id, _, like in alike(rows, today=today):
        if like.is_ordinary:
            ids.discard(pk)
            if like.is_owed:
                plain.append((pk, assembly_id, premises_id, like))
    return [*_ordinary(plain, program=program, today=today), *_others(ids, today=today)]


def _ordinary(plain: list[_Owed], *, program: Program, today: date) -> list[OwedNotice]:
    asks = [(premises_id, _roles(like)) for _, _, premises_id, like in plain]
    to = addressees(asks, program=program, today=today)
    holds = {key: nobody_to_write_to(key, program=program) for key in _odd(to)}
    owed: list[OwedNotice] = []
    for (pk, assembly_id, premises_id, like), wanted in zip(plain, asks, strict=True):
        if like.made is None:
            like.made = _alike(like)
        urgency = _urgency(like, pk=pk)
        owed += [
            OwedNotice(
                obligation_id=pk,
                assembly_id=assembly_id,
                premises_id=premises_id,
                recipient_key=key,
                urgency=urgency,
                hold=holds.get(key, ""),
                **like.made,
            )
            for key in to[wanted]
        ]
    return owed


def _others(ids: Iterable[int], *, today: date) -> list[OwedNotice]:
    owed: list[OwedNotice] = []
    for batch in in_batches(sorted(ids), size=PAGE):
        owed += owed_notices(positions(batch, today=today), today=today)
    return owed


def _roles(like: Alike) -> Any:
    return like.step.rung.recipients if like.step is not None else ()


def _odd(to: Mapping[Wanted, tuple[str, ...]]) -> set[str]:
    """Keys of whom the office may not know yet: the fire department, a testing company."""
    return {key for keys in to.values() for key in keys if key.startswith(("fire:", "firm:"))}


def _alike(like: Alike) -> dict[str, Any]:
    """What the notices of rows that stand alike have in common."""
    step = like.step
    assert step is not None
    keys = keys_of(like.ladder)
    return {
        "rung": step.rung.key,
        "kind": step.rung.words,
        "ahead": tuple(keys[keys.index(step.rung.key) + 1 :]),
        "occurrence": step.occurrence,
        "owed_on": step.on,
        "channel": step.rung.channel,
        "citation": step.rung.citation,
        "needs_release": step.rung.needs_release,
        "reasons": tuple(reason.to_json() for reason in step.reasons),
        "skipped": len(step.skipped),
        "is_courtesy": step.rung.is_skippable,
        "warning": step.warning,
    }


def _urgency(like: Alike, *, pk: int) -> Urgency:
    values = like.values
    return urgency_of(
        obligation_id=pk,
        is_high=values[HAZARD] != Hazard.LOW,
        has_failed=values["failed_on"] is not None,
        late_from=values["cure_by"] or values["due_on"],
    )
