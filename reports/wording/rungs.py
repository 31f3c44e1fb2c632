"""A rung on a page: its name, its place on the ladder, and the figure in its flag."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from scheduling.domain.ladders import Ladder, Rung, Trigger
from scheduling.domain.rung_sentences import channel_words


@dataclass(frozen=True, kw_only=True)
class RungShown:
    """How pages show a rung: `step` counts from the ground, 0 for one beside the ladder."""

    key: str
    name: str
    step: int
    figure: str
    is_grave: bool
    when: str

    @property
    def mark(self) -> int:
        """Rungs to draw heavy in the mark."""
        return min(self.step, 6)


def name_of_rung(key: str) -> str:
    """`Final notice` from `final`, `Shutoff order` from `shutoff-order`."""
    words = key.replace("-", " ")
    takes_notice = key in {"final", "repair"} or key.endswith("overdue")
    return f"{words} notice".capitalize() if takes_notice else words.capitalize()


def rungs_shown(ladder: Ladder) -> list[RungShown]:
    """The rungs of a ladder, from the ground up; those that count from a day due are numbered."""
    shown: list[RungShown] = []
    step = 0
    for rung in ladder.rungs:
        is_numbered = rung.trigger is Trigger.DUE
        step += 1 if is_numbered else 0
        shown.append(
            RungShown(
                key=rung.key,
                name=name_of_rung(rung.key),
                step=step if is_numbered else 0,
                figure=str(step) if is_numbered else rung.key[:1].upper(),
                is_grave=is_numbered and not rung.is_skippable,
                when=when_of(rung),
            )
        )
    return shown


def by_key(rungs: Iterable[RungShown]) -> dict[str, RungShown]:
    """Rungs by their keys."""
    return {rung.key: rung for rung in rungs}


def rung_of(key: str, rungs: dict[str, RungShown]) -> RungShown:
    """The rung of a key; one the ladder of today does not know stands beside it by its name."""
    return rungs.get(key) or RungShown(
        key=key, name=name_of_rung(key), step=0, figure=key[:1].upper(), is_grave=False, when=""
    )


def when_of(rung: Rung) -> str:
    """When a rung is owed, in a few words: `15 days before due; skipped when late`."""
    first = _gap(rung) if rung.after else _offset(rung)
    notes = [first]
    if rung.channel not in {"mail", ""}:
        notes.append(channel_words(rung.channel))
    if rung.is_order:
        notes.append("a person signs")
    elif rung.needs_release:
        notes.append("a person releases it")
    if rung.is_skippable:
        notes.append("skipped when late")
    return "; ".join(notes)


def _gap(rung: Rung) -> str:
    return f"{rung.gap_days} days after the {(rung.after or '').replace('-', ' ')} left"


def _offset(rung: Rung) -> str:
    days = abs(rung.offset_days)
    span = "1 day" if days == 1 else f"{days} days"
    if rung.trigger is Trigger.DUE:
        if rung.offset_days == 0:
            return "on the day due"
        if rung.offset_days == 1:
            return "the day after due"
        return f"{span} {'before' if rung.offset_days < 0 else 'after'} due"
    if rung.trigger is Trigger.FAILED:
        return "the day a test fails" if not days else f"{span} after a failed test"
    if rung.trigger is Trigger.PROMPTED:
        return "the day a test is asked for" if not days else f"{span} after a test is asked for"
    return "the day it opens" if not days else f"{span} after it opens"
