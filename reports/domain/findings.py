"""What a person must hear of after a visit, whatever the verdict: the dangerous things first."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from reports.domain.assessing import Assessed
from reports.domain.visits import CAUSE_WORDS, DANGEROUS, Cause

DANGER = "danger"
NOT_TESTED = "could not be tested"
REPLACEMENT = "replacement"
WRONG = "wrongly installed"


@dataclass(frozen=True, kw_only=True)
class Finding:
    """One thing for a person: its kind, and a sentence."""

    kind: str
    text: str

    @property
    def is_dangerous(self) -> bool:
        """Whether the drinking water may be unprotected now."""
        return self.kind.startswith(DANGER)


def findings_of(one: Assessed) -> Iterator[Finding]:
    """What a report found besides its readings.

    A relief valve seen running is evidence whatever the readings say (EPA 816-R-03-002, ch. 5,
    reprinted; a gauge maker's manual).
    """
    visit, serial = one.report.visit, one.report.serial
    if visit.way_around and visit.cause is not Cause.BYPASSED:
        yield Finding(
            kind=f"{DANGER}: {Cause.BYPASSED}",
            text=f"{serial}: {CAUSE_WORDS[Cause.BYPASSED]}. Look today, whatever its readings say.",
        )
    if visit.relief_running:
        yield Finding(
            kind=f"{DANGER}: relief valve running",
            text=f"{serial}: the relief valve was seen running. Look, whatever the readings say.",
        )
    cause = one.hindrance or visit.cause
    if cause in DANGEROUS and not (cause is Cause.RELIEF_RUNNING and visit.relief_running):
        words = CAUSE_WORDS[cause]
        yield Finding(
            kind=f"{DANGER}: {cause}",
            text=f"{serial}: {words}. The water may be unprotected: look today.",
        )
    elif cause is not None and cause not in DANGEROUS:
        yield Finding(kind=NOT_TESTED, text=f"{serial} could not be tested. {_words(one, cause)}.")
    if visit.is_proper is False and visit.cause is not Cause.WRONGLY_INSTALLED:
        how = f": {visit.improper}" if visit.improper else ""
        yield Finding(kind=WRONG, text=f"{serial} is not properly installed{how}.")
    if visit.replaces:
        old = visit.old_serial or "(no serial told)"
        text = f"{serial} replaces {old}: record the one, and take out the other."
        yield Finding(kind=REPLACEMENT, text=text)


def _words(one: Assessed, cause: Cause) -> str:
    own = one.report.visit.cause_words
    return own if cause is Cause.OTHER and own else CAUSE_WORDS[cause]
