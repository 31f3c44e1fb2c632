"""What is owed today, in the order in which waiting costs most, gathered into letters."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date

from notices.domain.kinds import Work

RESTART_MARK = "@"
"""Parts a rung's occurrence from the day a new responsible party restarted the lawful part."""

ERROR_MARK = "!"
"""Parts a rung's occurrence from the number of a notice that was sent in error."""


@dataclass(frozen=True, slots=True, order=True)
class Urgency:
    """Failed on high hazard, then high hazard, then longest overdue."""

    rank: int
    late_from: date
    obligation_id: int


@dataclass(frozen=True, slots=True, kw_only=True)
class OwedNotice:
    """One rung owed for one obligation on the day asked about, and to whom.

    `hold` says why it must wait for a person; such a one gets no letter.
    `notice_id` is set when the notice was recorded before and lost its letter.
    """

    obligation_id: int
    assembly_id: int | None
    premises_id: int
    rung: str
    occurrence: str
    owed_on: date
    recipient_key: str
    urgency: Urgency
    channel: str
    citation: str
    kind: str = ""
    """The kind of letter it is written in; empty: the one named as the rung."""

    ahead: tuple[str, ...] = ()
    """The rungs that may follow on its ladder: letters of different ladders are kept apart."""

    is_order: bool = False
    needs_release: bool = False
    reasons: tuple[dict[str, str], ...] = ()
    skipped: int = 0
    is_courtesy: bool = False
    """Whether no law asks for it."""

    hold: str = ""
    warning: str = ""
    """Tells a person that the day by which the law wants it to leave is missed."""

    notice_id: int | None = None
    work: Work = Work.TEST

    @property
    def key(self) -> tuple[int, str, str]:
        """What makes it the same notice: matter, rung, occurrence."""
        return (self.obligation_id, self.rung, self.occurrence)

    @property
    def words(self) -> str:
        """The kind of its letter."""
        return self.kind or self.rung


@dataclass(frozen=True, slots=True, kw_only=True)
class LetterGroup:
    """The notices that one letter carries."""

    owed: tuple[OwedNotice, ...]

    @property
    def urgency(self) -> Urgency:
        """That of its most urgent notice."""
        return self.owed[0].urgency

    @property
    def first(self) -> OwedNotice:
        """The notice whose kind, recipient and channel are those of all."""
        return self.owed[0]


def urgency_of(*, obligation_id: int, is_high: bool, has_failed: bool, late_from: date) -> Urgency:
    """Return the place in the order; hazard not assessed counts as high."""
    rank = 0 if is_high and has_failed else 1 if is_high else 2
    return Urgency(rank=rank, late_from=late_from, obligation_id=obligation_id)


def into_letters(owed: Iterable[OwedNotice]) -> list[LetterGroup]:
    """Gather notices by recipient, rung, ladder and work, an order by premises; urgent first.

    Example: two overdue tests of one owner make one letter, a reminder of a third another.
    """
    groups: dict[tuple[str, ...], list[OwedNotice]] = {}
    for notice in owed:
        place = str(notice.premises_id) if notice.is_order else ""
        key = (notice.recipient_key, notice.rung, *notice.ahead, notice.work.value, place)
        groups.setdefault(key, []).append(notice)
    letters = [
        LetterGroup(owed=tuple(sorted(group, key=lambda notice: notice.urgency)))
        for group in groups.values()
    ]
    return sorted(letters, key=lambda letter: letter.urgency)


def within_quota(
    letters: Sequence[LetterGroup], *, most: int | None
) -> tuple[Sequence[LetterGroup], Sequence[LetterGroup]]:
    """Part the letters that may go today from those that are owed again next run.

    Letters to several recipients of one notice are never parted: they go together, even where
    that is more than may go, if they are the first.
    """
    if most is None:
        return letters, []
    now: list[LetterGroup] = []
    later: list[LetterGroup] = []
    for together in _bound_together(letters):
        fits = len(now) + len(together) <= most or (most > 0 and not now)
        (now if fits and not later else later).extend(together)
    return now, later


def _bound_together(letters: Sequence[LetterGroup]) -> list[list[LetterGroup]]:
    """Return letters in their order, those that share a notice side by side."""
    found: list[list[LetterGroup]] = []
    place_of: dict[tuple[int, str, str], int] = {}
    for letter in letters:
        keys = [owed.key for owed in letter.owed]
        places = sorted({place_of[key] for key in keys if key in place_of})
        first = places[0] if places else len(found)
        if not places:
            found.append([])
        for other in places[1:]:
            found[first] += found[other]
            found[other] = []
        found[first].append(letter)
        place_of |= {owed.key: first for one in found[first] for owed in one.owed}
    return [together for together in found if together]


def stored_occurrence(occurrence: str, *, lawful_since: date | None) -> str:
    """Return the occurrence under which a rung is recorded; a restart makes it a new one."""
    if lawful_since is None:
        return occurrence
    return f"{occurrence}{RESTART_MARK}{lawful_since.isoformat()}"


def error_occurrence(stored: str, *, notice_id: int) -> str:
    """Return under which occurrence a notice sent in error is kept: the rung is owed anew."""
    return f"{stored}{ERROR_MARK}{notice_id}"


def counting_occurrence(stored: str, *, lawful_since: date | None, is_courtesy: bool) -> str | None:
    """Return the rung's own occurrence, or None where a restart has made the notice count no more.

    A courtesy rung is not sent twice because the owner changed.
    """
    occurrence, _, since = stored.partition(ERROR_MARK)[0].partition(RESTART_MARK)
    restarted = lawful_since.isoformat() if lawful_since else ""
    return occurrence if is_courtesy or since == restarted else None
