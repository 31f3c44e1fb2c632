"""When an order to shut off water must not be prepared, and what a person must know first.

Stricter than some codes, which is this house's choice.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from notices.domain.kinds import FireLine
from notices.domain.long_dates import long_date
from notices.domain.shutoffs import AnswerSays

_DETECTORS = frozenset({"RPDA", "DCDA", "RPDA-II", "DCDA-II"})


@dataclass(frozen=True, slots=True, kw_only=True)
class Answer:
    """What the fire department, or who needs the water, answered; `until` is its last day."""

    says: AnswerSays
    words: str
    said_by: str = ""
    said_on: date | None = None
    until: date | None = None

    @property
    def in_words(self) -> str:
        """The answer as a page prints it."""
        who = f"{self.said_by}, " if self.said_by else ""
        when = f"{long_date(self.said_on)}: " if self.said_on else ""
        held = f" Holds until {long_date(self.until)}." if self.until else ""
        said = "" if self.says is AnswerSays.MAY else "Stays on. "
        return f"{who}{when}{said}{self.words.rstrip('.')}.{held}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Premise:
    """What the record says about the service and the people behind an assembly."""

    fire: FireLine
    fire_answer: Answer | None = None
    has_medical_supply: bool = False
    medical_consent: Answer | None = None
    open_objection: str = ""


def fire_line_of(*, service: str, type_: str, has_combined_fire: bool) -> FireLine:
    """Return whether shutting the service takes the fire protection off.

    A detector assembly on a service nobody recorded is taken for a fire line:
    detectors are made for those.
    """
    if service == "fire" or (not service and type_ in _DETECTORS):
        return FireLine.DEDICATED
    if service == "combined domestic and fire" or (
        has_combined_fire and service in {"", "domestic"}
    ):
        return FireLine.COMBINED
    return FireLine.NONE


def why_held(premise: Premise, *, today: date) -> str:
    """Return why no order may be prepared or carried out today, or nothing where one may."""
    if premise.fire is FireLine.DEDICATED:
        return "A dedicated fire line is never shut off. Tell the fire department."
    if premise.fire is FireLine.COMBINED and (
        why := _why_not_answered(premise.fire_answer, today=today)
    ):
        return {
            "none": "The service feeds a fire system too. Record the fire department's answer "
            "first.",
            "stays": "The service feeds a fire system too, and the fire department wants the "
            "water to stay on.",
        }.get(why, f"The service feeds a fire system too. {why}")
    if premise.has_medical_supply and (
        why := _why_not_answered(premise.medical_consent, today=today)
    ):
        return {
            "none": "The premises needs water for medical reasons. Record the consent first.",
            "stays": "The premises needs water for medical reasons, and no consent was given.",
        }.get(why, f"The premises needs water for medical reasons. {why}")
    return premise.open_objection


def _why_not_answered(answer: Answer | None, *, today: date) -> str:
    if answer is None:
        return "none"
    if answer.says is AnswerSays.STAYS:
        return "stays"
    if answer.until is not None and answer.until < today:
        return f"The answer on record held until {long_date(answer.until)}. Ask again."
    return ""
