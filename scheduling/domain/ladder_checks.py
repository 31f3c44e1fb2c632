"""What a ladder must not be: running backwards, or calling a courtesy the law."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from scheduling.domain.matching import Match
from scheduling.domain.rulebook import Part, Rulebook
from scheduling.domain.rungs import Rung, Trigger


def ladder_faults(rulebook: Rulebook) -> Iterator[str]:
    """Yield every fault of a rulebook's ladders as one sentence with the rung and the mend."""
    rungs = rulebook.ladder.rungs
    if not rungs and not any(gap.part is Part.LADDER for gap in rulebook.gap_list):
        yield "No [[rung]] is given: say what is sent, or name a [[gap]] of the ladder."
    known = {kind.name for kind in rulebook.kinds}
    for rung in rungs:
        for kind in rung.kinds:
            if kind not in known:
                yield f"Rung {rung.key!r} is of kind {kind!r}: add a [[kind]] of that name."
        yield from _rung_faults(rung)
    yield from _order_faults(rungs)


def _rung_faults(rung: Rung) -> Iterator[str]:
    key = rung.key
    if rung.is_skippable and (rung.needs_release or rung.is_order or rung.offset_days > 0):
        yield f"Rung {key!r} is a courtesy: it cannot follow the due date or need release."
    if rung.is_skippable and (rung.is_required or rung.latest_left_days is not None):
        yield (
            f"Rung {key!r} is a courtesy and marked as required by law: take out is_skippable"
            " if the law asks for it, else is_required and latest_left_days."
        )
    if rung.latest_left_days is not None and rung.latest_left_days < rung.offset_days:
        yield (
            f"Rung {key!r} must have left {rung.latest_left_days} days from its trigger, before"
            f" it is owed at {rung.offset_days}: exchange the two."
        )
    if rung.is_order and not rung.needs_release:
        yield f"Rung {key!r} is an order: only a person releases it, write needs_release = true."


def _order_faults(rungs: Sequence[Rung]) -> Iterator[str]:
    """Yield the rungs that stand twice, follow what is not before them, or run backwards."""
    seen: set[str] = set()
    latest: dict[tuple[tuple[str, ...], Match], int] = {}
    for rung in rungs:
        if rung.key in seen:
            yield f"Rung {rung.key!r} stands twice: keep one."
        if rung.after is not None and rung.after not in seen:
            yield f"Rung {rung.key!r} follows {rung.after!r}, which does not stand before it."
        if rung.trigger is Trigger.DUE and not rung.without_day:
            group = (rung.kinds, rung.match)
            if rung.offset_days < latest.get(group, rung.offset_days):
                yield f"Rung {rung.key!r} runs backwards: its day lies before the rung above it."
            latest[group] = rung.offset_days
        seen.add(rung.key)
