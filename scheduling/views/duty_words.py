"""What a premises and its services owe, in the words of pages."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from registry.domain.kinds import Hazard
from registry.models import ServiceConnection
from registry.templatetags.wording import long_day
from scheduling.domain.protection import Lack, allowed
from scheduling.queries.duties import Duty, PastDuty
from scheduling.queries.group_places import service_words


@dataclass(frozen=True, kw_only=True)
class DutyShown:
    """A duty with its name, its standing and the sentences a page prints."""

    duty: Duty
    name: str
    standing: str
    sentence: str
    lacking: tuple[str, ...]
    sources: tuple[str, ...]


def shown(duty: Duty, *, today: date) -> DutyShown:
    """Return a duty as a page shows it."""
    return DutyShown(
        duty=duty,
        name=name_of(duty),
        standing=duty.standing,
        sentence=sentence_of(duty, today=today),
        lacking=tuple(_lacking(lack) for lack in duty.lacks),
        sources=tuple(dict.fromkeys(lack.rule.citation for lack in duty.lacks)),
    )


def name_of(duty: Duty | PastDuty) -> str:
    """`Protection of the fire service`, `Survey of the premises`."""
    of = "the premises" if duty.service is None else f"the {service_name(duty.service)}"
    if duty.is_survey:
        return f"Survey of {of}"
    return f"Protection of {of}" if duty.is_protection else f"{duty.kind.capitalize()} of {of}"


def service_name(service: ServiceConnection) -> str:
    """A service in a sentence."""
    return service_words(service.kind, service.name)


def sentence_of(duty: Duty, *, today: date) -> str:
    """What follows the standing: ` by 12 days. It was due April 1, 2026.`"""
    due = duty.obligation.due_on
    if duty.standing == "overdue":
        return f" by {_days((today - due).days)}. It was due {long_day(due)}."
    if duty.standing == "good":
        opens = long_day(duty.obligation.opens_on)
        return f". The next is due {long_day(due)}; it opens {opens}."
    ahead = (due - today).days
    return f" {'today' if ahead == 0 else f'in {_days(ahead)}'}. It is due {long_day(due)}."


def _lacking(lack: Lack) -> str:
    """What stands there and what would protect; a hazard nobody assessed is not called high."""
    there = ", ".join(lack.has) if lack.has else "No assembly"
    hazard = (
        "a hazard nobody has assessed, treated as the stricter until somebody looks"
        if lack.attributes.hazard is Hazard.NOT_ASSESSED
        else f"a {lack.attributes.hazard} hazard"
    )
    kind = lack.attributes.service.value or "service of unknown kind"
    asks = f"{allowed(lack.rule)} is asked for"
    return f"{there} stands on the {kind} connection against {hazard}. {asks}."


def _days(number: int) -> str:
    return "1 day" if number == 1 else f"{number:,} days"
