"""Everything a person or a program may ask about one subject on one day, with its reasons."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from scheduling.domain.ladders import Ladder, LeftRung, RungStep, next_rung
from scheduling.domain.ledger import Ledger
from scheduling.domain.obligations import Obligation
from scheduling.domain.reasons import Reason
from scheduling.domain.standing import Standing, standing


@dataclass(frozen=True, slots=True, kw_only=True)
class Explanation:
    """Where a subject stands, what is next, what was owed, and why.

    `rung_on` of a rung owed today is that day; a rung still to come has its own day.
    """

    assembly: str
    standing: Standing
    opens_on: date | None
    due_on: date | None
    rung: str | None
    rung_on: date | None
    obligations: tuple[Obligation, ...]
    reasons: tuple[Reason, ...]
    warnings: tuple[str, ...]

    def to_json(self) -> dict[str, Any]:
        """Return the object that `replay_facts` and `explain` print, no key ever absent."""
        return {
            "assembly": self.assembly,
            "standing": self.standing.value,
            "opens_on": _iso(self.opens_on),
            "due_on": _iso(self.due_on),
            "next_rung": (
                None if self.rung is None else {"rung": self.rung, "on": _iso(self.rung_on)}
            ),
            "obligations": [_obligation_json(obligation) for obligation in self.obligations],
            "reasons": [reason.to_json() for reason in self.reasons],
            "warnings": list(self.warnings),
        }


def explain_ledger(
    *,
    assembly: str,
    ledger: Ledger,
    ladder: Ladder,
    left: Iterable[LeftRung] = (),
    warnings: Sequence[str] = (),
) -> Explanation:
    """Explain a ledger as of its own day; `left` are the rungs of the current obligation.

    Example: open, due 2025-09-04, as of 2025-11-25 and nothing left: overdue, next rung
    `first-overdue` on 2025-11-25.
    """
    day, current = ledger.as_of, ledger.current
    ladder = ladder.for_kind(kind=ledger.kind, attributes=ledger.attributes)
    stands = standing(ledger, day)
    step = None
    if current is not None:
        step = next_rung(
            ladder=ladder, obligation=current, left=left, today=day, holidays=ledger.holidays
        )
    return Explanation(
        assembly=assembly,
        standing=stands,
        opens_on=current.opens_on if current is not None else None,
        due_on=current.due_on if current is not None else None,
        rung=step.rung.key if step is not None else None,
        rung_on=max(step.on, day) if step is not None else None,
        obligations=ledger.obligations,
        reasons=(
            *ledger.reasons,
            *(step.reasons if step is not None else ()),
            *_passed_over(step, day=day),
            why_standing(ledger=ledger, stands=stands),
        ),
        warnings=(*warnings, *ledger.warnings),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class PlaceExplanation:
    """What one kind of work of a premises, or of one of its services, owes, and why.

    `service` None: of the premises as a whole.
    """

    premises: str
    account: str
    service: str | None
    kind: str
    standing: Standing
    owed: Obligation | None
    step: RungStep | None
    ledger: Ledger

    def to_json(self) -> dict[str, Any]:
        """Return the object that `explain --premises` prints, no key ever absent."""
        day, owed, step = self.ledger.as_of, self.owed, self.step
        return {
            "premises": self.premises,
            "account": self.account,
            "service": self.service,
            "kind": self.kind,
            "standing": self.standing.value,
            "opens_on": _iso(owed.opens_on if owed else None),
            "due_on": _iso(owed.due_on if owed else None),
            "next_rung": (
                None if step is None else {"rung": step.rung.key, "on": _iso(max(step.on, day))}
            ),
            "obligations": [
                _obligation_json(one) for one in self.ledger.obligations if one.kind == self.kind
            ],
            "reasons": [reason.to_json() for reason in self.reasons],
            "warnings": list(self.ledger.warnings),
        }

    @property
    def reasons(self) -> tuple[Reason, ...]:
        """Every step of the sum, and why the rung is next."""
        return (*self.ledger.reasons, *(self.step.reasons if self.step else ()))


def explain_place(
    *,
    names: tuple[str, str, str | None],
    kind: str,
    ledger: Ledger,
    ladder: Ladder,
    left: Iterable[LeftRung],
) -> PlaceExplanation:
    """Explain one kind of work of a ledger; `names`: the premises, its account, the service."""
    day = ledger.as_of
    owed = ledger.open_of(kind) or ledger.coming_of(kind)
    step = None
    if owed is not None:
        step = next_rung(
            ladder=ladder, obligation=owed, left=left, today=day, holidays=ledger.holidays
        )
    premises, account, service = names
    return PlaceExplanation(
        premises=premises,
        account=account,
        service=service,
        kind=kind,
        standing=_stands(ledger, owed),
        owed=owed,
        step=step,
        ledger=ledger,
    )


def _stands(ledger: Ledger, owed: Obligation | None) -> Standing:
    """Return the standing of one kind of work; where nothing is asked: exempt."""
    if ledger.removed_on is not None:
        return Standing.REMOVED
    if owed is None:
        return Standing.EXEMPT if ledger.is_exempt else Standing.GOOD
    if not owed.is_open:
        return Standing.GOOD
    return Standing.OVERDUE if owed.due_on < ledger.as_of else Standing.DUE


def _passed_over(step: RungStep | None, *, day: date) -> list[Reason]:
    if step is None or not step.skipped:
        return []
    said = f"{', '.join(step.skipped)} passed over: a later rung is owed on {day}"
    return [Reason(day, "ladder courtesy", said, step.rung.citation)]


def why_standing(*, ledger: Ledger, stands: Standing) -> Reason:
    """Return why a subject stands where it stands on the ledger's day."""
    day, current = ledger.as_of, ledger.current
    citation = current.citation if current is not None else HOUSE_RULE
    said = {
        Standing.REMOVED: f"removed {ledger.removed_on}",
        Standing.EXEMPT: "no rule asks for a test of this type",
        Standing.IDLE: f"idle since {ledger.idle_since}",
        Standing.FAILED: f"failed {current.failed_on if current else None}, no pass since",
        Standing.OVERDUE: f"due {current.due_on if current else None} is before {day}",
        Standing.UNTESTED: "no pass on record that counts",
        Standing.DUE: f"opened {current.opens_on if current else None},"
        f" due {current.due_on if current else None}, on or after {day}",
        Standing.GOOD: f"last pass {ledger.last_passed_on}, nothing open on {day}",
    }[stands]
    return Reason(day, f"standing {stands.value}", said, citation)


HOUSE_RULE = "The order of the standings: the first that holds wins"


def _obligation_json(obligation: Obligation) -> dict[str, Any]:
    return {
        "kind": obligation.kind,
        "opens_on": _iso(obligation.opens_on),
        "due_on": _iso(obligation.due_on),
        "cure_by": _iso(obligation.cure_by),
        "closed_on": _iso(obligation.closed_on),
        "closed_how": obligation.closed_how.value if obligation.closed_how else None,
    }


def _iso(day: date | None) -> str | None:
    return None if day is None else day.isoformat()
