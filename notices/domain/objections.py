"""What is wrong with an objection, or with its decision, as a person wrote it."""

from __future__ import annotations

from datetime import date
from enum import StrEnum


class ObjectionKind(StrEnum):
    """Against what somebody speaks up."""

    OBJECTION = "objection"
    APPEAL = "appeal"


def objection_faults(
    *, kind: str, raised_by: str, words: str, raised_on: date | None, review_on: date | None,
    today: date,
) -> dict[str, str]:  # fmt: skip
    """Return what is wrong with an objection, a sentence for each field; it has an end."""
    found = {}
    if kind not in set(ObjectionKind):
        found["kind"] = "Say whether it is an objection or an appeal."
    if not raised_by.strip():
        found["raised_by"] = "Name who objects."
    if not words.strip():
        found["words"] = "Write what they say is wrong, in their words."
    if raised_on is None or raised_on > today:
        found["raised_on"] = f"Write the day on which it came in, up to today, {today}."
    if review_on is None:
        found["review_on"] = "Say by which day a person looks at it: a stopped clock has an end."
    elif review_on <= today:
        found["review_on"] = f"{review_on} has come already: choose a day after {today}."
    return found


def decision_faults(
    *, outcome: str, decided_by: str, words: str, excused_until: date | None, today: date
) -> dict[str, str]:
    """Return what is wrong with a decision, a sentence for each field."""
    found = {}
    if outcome not in {"upheld", "rejected"}:
        found["outcome"] = "Say whether the objection is upheld or rejected."
    if not decided_by.strip():
        found["decided_by"] = "Name the person who decided."
    if not words.strip():
        found["decision"] = "Write why; the letter about the decision says it."
    if excused_until is not None and outcome == "rejected":
        found["excused_until"] = "A rejected objection excuses nothing: leave the day out."
    elif excused_until is not None and excused_until <= today:
        found["excused_until"] = f"{excused_until} has come already: choose a day after {today}."
    return found
