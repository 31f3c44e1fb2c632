"""What a ladder must not be: running backwards, or calling a courtesy the law."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from scheduling.domain.matching import Match, every_subject
from scheduling.domain.rulebook import Part, Provision, Rulebook, Topic
from scheduling.domain.rungs import Rung, Trigger
from scheduling.domain.workdays import in_days

LANGUAGES = ("en", "es")
"""The languages that letters are written in."""


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
        yield from _clock_faults(rung)
    yield from _order_faults(rungs)
    yield from _hearing_faults(rulebook)


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


def _clock_faults(rung: Rung) -> Iterator[str]:
    """Yield what makes no sense of how a rung counts, repeats, and in what it is written."""
    key = rung.key
    if rung.after is None and (rung.presumed_days or rung.from_delivery):
        yield f"Rung {key!r} counts from a delivery of nothing: name the rung with after."
    if rung.repeat is not None and (rung.is_order or rung.trigger is Trigger.PROMPTED):
        yield f"Rung {key!r} cannot repeat: an order or a notice of an event comes once."
    for language in rung.languages:
        if language not in LANGUAGES:
            known = ", ".join(LANGUAGES)
            yield f"Rung {key!r} is in {language!r}: write one of {known}."


def _hearing_faults(rulebook: Rulebook) -> Iterator[str]:
    """Yield the orders that could come before the time to be heard has closed.

    The time runs from the rung that the order follows, as the order's own gap does: from its
    leaving, or from its receipt. The last day to ask still belongs to the customer.
    """
    for rung in rulebook.ladder.rungs:
        for rule in _hearings(rulebook, rung=rung) if rung.is_order else ():
            told = f"the {in_days(rule.days or 0, is_working=rule.is_working)} to be heard"
            if rung.after is None:
                yield (
                    f"Rung {rung.key!r} is an order and follows no notice that could name {told}"
                    f" ({rule.id}): name that notice with after."
                )
            elif _may_come_before(rung, rule=rule):
                yield (
                    f"Rung {rung.key!r} could come before {told} ({rule.id}) have passed since"
                    f" {rung.after!r}: write {_least_gap(rung, rule=rule)} or more."
                )


def _hearings(rulebook: Rulebook, *, rung: Rung) -> list[Provision]:
    """Return the provisions on hearings that name days for subjects of a rung."""
    met = [a for a in every_subject([rung.match, *_hearing_matches(rulebook)])
           if rung.match.catches(a)]  # fmt: skip
    found = (rulebook.provision(topic=Topic.HEARING, attributes=a) for a in met)
    return list({rule.id: rule for rule in found if rule is not None and rule.days}.values())


def _hearing_matches(rulebook: Rulebook) -> list[Match]:
    return [rule.match for rule in rulebook.provisions if rule.topic is Topic.HEARING]


def _may_come_before(rung: Rung, *, rule: Provision) -> bool:
    if rung.is_working == rule.is_working:
        return rung.gap_days <= (rule.days or 0)
    return rule.is_working or _least_days(rung.gap_days) <= (rule.days or 0)


def _least_days(working: int) -> int:
    """Return the fewest days of the calendar that days of work can be.

    Left on a Sunday, five end on the Friday, six on the Monday after: 5 and 8 days.
    """
    weeks, rest = divmod(working, 5)
    return weeks * 7 + rest if rest else max(weeks * 7 - 2, 0)


def _least_gap(rung: Rung, *, rule: Provision) -> str:
    days = rule.days or 0
    if rung.is_working == rule.is_working:
        return f"gap_days = {days + 1}"
    if rule.is_working:
        return f"is_working = true and gap_days = {days + 1}"
    return f"gap_days = {next(n for n in range(days + 2) if _least_days(n) > days)}"


def _order_faults(rungs: Sequence[Rung]) -> Iterator[str]:
    """Yield the rungs that stand twice, follow what is not before them, or run backwards."""
    seen: set[str] = set()
    orders: list[Rung] = []
    latest: dict[tuple[tuple[str, ...], Match, Trigger], int] = {}
    for rung in rungs:
        if rung.key in seen:
            yield f"Rung {rung.key!r} stands twice: keep one."
        if rung.after is not None and rung.after not in seen:
            yield f"Rung {rung.key!r} follows {rung.after!r}, which does not stand before it."
        counts = rung.trigger is Trigger.DUE or rung.after is None
        if counts and not rung.without_day:
            group = (rung.kinds, rung.match, rung.trigger)
            if rung.offset_days < latest.get(group, rung.offset_days):
                yield f"Rung {rung.key!r} runs backwards: its day lies before the rung above it."
            latest[group] = rung.offset_days
        above = next((one for one in orders if _is_of_one_ladder(one, rung)), None)
        if above is not None and not rung.is_order and rung.after != above.key:
            yield (
                f"Rung {rung.key!r} stands below the order {above.key!r}: move above it what is"
                " sent before water goes off."
            )
        orders += [rung] if rung.is_order else []
        seen.add(rung.key)


def _is_of_one_ladder(one: Rung, other: Rung) -> bool:
    return (one.kinds, one.match) == (other.kinds, other.match)
