"""What replay finds about one subject: its obligations, where it stands, what comes next."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date

from scheduling.domain.matching import Attributes
from scheduling.domain.obligations import Obligation, ObligationKey
from scheduling.domain.reasons import Reason
from scheduling.domain.workdays import Holidays


@dataclass(frozen=True, slots=True, kw_only=True)
class Ledger:
    """The answer of replay, as of one day.

    `obligations` are those opened by then, oldest first, closed ones included. `coming`
    holds for each kind the one that has not opened yet. `next_actions` is the first day
    on which each asks for something: an opening or a rung (the day asked about when a rung
    is owed then). `warnings` are worth knowing, `questions` those among
    them that a person must settle. `review_on` is the day on which a person looks again at
    an idle time or an exemption. `gap` names the gap of the rulebook where the subject's
    cycle would stand. `attributes` are those that hold on the day, `holidays` the days that
    the office is closed, by which rungs count days of work.
    """

    as_of: date
    kind: str
    obligations: tuple[Obligation, ...]
    coming: tuple[Obligation, ...]
    next_actions: Mapping[ObligationKey, date]
    reasons: tuple[Reason, ...]
    warnings: tuple[str, ...] = ()
    questions: tuple[str, ...] = ()
    installed_on: date | None = None
    last_passed_on: date | None = None
    removed_on: date | None = None
    idle_since: date | None = None
    review_on: date | None = None
    is_exempt: bool = False
    gap: str = ""
    attributes: Attributes = field(default_factory=Attributes)
    kinds: tuple[str, ...] = field(default=())
    holidays: Holidays = ()

    @property
    def next_action_on(self) -> date | None:
        """The first day on which anything is owed; None when nothing is to come."""
        return min(self.next_actions.values(), default=None)

    def open_of(self, kind: str) -> Obligation | None:
        """Return the open obligation of a kind, or None; there is never more than one."""
        return next((o for o in self.obligations if o.is_open and o.kind == kind), None)

    def coming_of(self, kind: str) -> Obligation | None:
        """Return the coming obligation of a kind, or None."""
        return next((o for o in self.coming if o.kind == kind), None)

    @property
    def current(self) -> Obligation | None:
        """The open obligation of the main kind, else the coming one, else None."""
        return self.open_of(self.kind) or self.coming_of(self.kind)
