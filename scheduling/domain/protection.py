"""When a service lacks the protection its rulebook asks for, and when it has it: facts told apart
from what is installed, what the premises is, and which rules hold."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime

from registry.domain.kinds import AssemblyType, Hazard
from scheduling.domain.facts import Fact, FactKind, facts_known
from scheduling.domain.matching import Attributes, SubjectKind
from scheduling.domain.places import (
    Place,
    Service,
    days_of_change,
    in_place,
    kind_of_guard,
    known,
    service_attributes,
)
from scheduling.domain.reasons import Reason
from scheduling.domain.rulebook import PROTECTION, ProtectionRule, Rulebook
from scheduling.domain.timeline import RulebookFrom, known_entries


@dataclass(frozen=True, slots=True, kw_only=True)
class Lack:
    """A service that lacks protection on a day: by which rule, and what stands there instead."""

    service: Service
    attributes: Attributes
    rule: ProtectionRule
    has: tuple[AssemblyType, ...]

    @property
    def words(self) -> str:
        """What is lacking, in one sentence without its source."""
        name = self.attributes.service.value or "a service of unknown kind"
        there = ", ".join(self.has) if self.has else "no assembly"
        return (
            f"{name}: {there} against {_hazard(self.attributes)}; asked for: {allowed(self.rule)}"
        )


def _hazard(attributes: Attributes) -> str:
    """Return the hazard in words; what is not assessed is never called high."""
    if attributes.hazard is Hazard.NOT_ASSESSED:
        return "a hazard not assessed"
    return f"a {attributes.hazard} hazard"


def allowed(rule: ProtectionRule) -> str:
    """Return the types that protect well enough, in the order offices list them."""
    names = [kind.value for kind in AssemblyType if kind in rule.allowed]
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} or {names[-1]}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Turn:
    """A day on which protection began to lack (`lacks`), or from which nothing lacks any more.

    `eased`: why nothing is asked for any more, where nobody installed what was asked for.
    """

    on: date
    lacks: tuple[Lack, ...]
    label: str
    eased: str = ""

    def reasons(self) -> list[Reason]:
        """Return why, each with its source."""
        return [
            Reason(self.on, f"{self.label}: protection {lack.rule.id}", lack.words,
                   lack.rule.citation)
            for lack in self.lacks
        ]  # fmt: skip

    def fact(self) -> Fact:
        """Return the turn as the fact that replay reads."""
        if self.lacks:
            return Fact(kind=FactKind.UNPROTECTED, on=self.on)
        if self.eased:
            return Fact(kind=FactKind.EASED, on=self.on, work=PROTECTION, reason=self.eased)
        return Fact(kind=FactKind.PASSED, on=self.on, work=PROTECTION)


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """Whose protection is asked about, and as of when and as known when."""

    place: Place
    services: tuple[Service, ...]
    subject: SubjectKind
    rulebooks: tuple[RulebookFrom, ...]
    as_of: date
    known_at: datetime | None = None

    @property
    def begins(self) -> date:
        """The first day the office knew of any of them: nobody is asked for more before."""
        return min((service.recorded_on for service in self.services), default=date.max)


def turns_of(asked: Asked) -> list[Turn]:
    """Return the days on which protection began to lack and ended to, oldest first.

    A service lacks it from the day the office recorded it, or the later day on which a hazard
    was found, an assembly went, the service changed, or the rule came into force. A change
    of what lacks is no turn while anything still does. An end of an exemption while
    something lacks is one.
    """
    books = known_entries(entries=asked.rulebooks, as_of=asked.as_of, known_at=asked.known_at)
    included = _included(asked)
    days = days_of_change(asked.place, services=asked.services, known_at=asked.known_at)
    days |= {book.on for book in books} | included | set(_disconnected(asked).values())
    ends = _last_day(asked)
    found: list[Turn] = []
    lacked: tuple[Lack, ...] = ()
    for on in sorted({max(day, asked.begins) for day in days} | {asked.begins}):
        if on > asked.as_of or on >= ends:
            break
        book = next((b.rulebook for b in reversed(books) if b.on <= on), books[0].rulebook)
        lacks = _lacks(asked, on=on, book=book)
        if lacks and (not lacked or on in included):
            found.append(Turn(on=on, lacks=lacks, label=book.label))
        elif lacked and not lacks and _is_asked(book, asked.subject):
            eased = _eased(asked, lacked=lacked, on=on)
            found.append(Turn(on=on, lacks=(), label=book.label, eased=eased))
        lacked = lacks
    return found


def _eased(asked: Asked, *, lacked: Sequence[Lack], on: date) -> str:
    """Return why nothing lacks any more; empty where what was asked for stands there now."""
    said = [_why_eased(asked, lack=lack, on=on) for lack in lacked]
    return "; ".join(words for words in said if words)


def _why_eased(asked: Asked, *, lack: Lack, on: date) -> str:
    service = lack.service
    name = lack.attributes.service.value or "a service of unknown kind"
    gone_on = disconnected_on(service, known_at=asked.known_at)
    if gone_on is not None and gone_on <= on:
        return f"{name}: disconnected on {gone_on}"
    has = _there(service, on=on, known_at=asked.known_at, rule=lack.rule)
    if lack.rule.allowed & set(has):
        return ""
    now = service_attributes(service, on, place=asked.place, known_at=asked.known_at)
    there = ", ".join(has) if has else "no assembly"
    was = lack.attributes
    changed = (
        f"{_hazard(now)} from {on}"
        if now.degree is not was.degree
        else f"use {now.use or 'not recorded'} from {on}"
        if now.use != was.use
        else f"the service is {now.service.value or 'of unknown kind'} from {on}"
        if now.service is not was.service
        else f"the rulebook of {on}"
    )
    return f"{name}: {there}; {changed} asks for no more"


def _included(asked: Asked) -> set[date]:
    """Return the days on which an exemption ended."""
    stored = [fact for service in asked.services for fact in service.facts]
    if asked.subject is SubjectKind.PREMISES:
        stored += asked.place.facts
    facts = facts_known(facts=stored, known_at=asked.known_at)
    return {fact.on for fact in facts if fact.kind is FactKind.INCLUDED}


def _last_day(asked: Asked) -> date:
    """Return the day from which nothing is asked: the account is closed, the service gone."""
    gone = _disconnected(asked)
    is_gone = asked.subject is SubjectKind.CONNECTION or len(gone) == len(asked.services)
    return min(
        asked.place.closed_on or date.max, max(gone.values()) if gone and is_gone else date.max
    )


def _disconnected(asked: Asked) -> dict[int, date]:
    """Return the services that were disconnected, each with its day."""
    return {
        service.key: on
        for service in asked.services
        if (on := disconnected_on(service, known_at=asked.known_at)) is not None
    }


def disconnected_on(service: Service, *, known_at: datetime | None) -> date | None:
    """Return the day a service was disconnected, as known at a moment, or None."""
    facts = facts_known(facts=service.facts, known_at=known_at)
    return min((fact.on for fact in facts if fact.kind is FactKind.REMOVED), default=None)


def _is_asked(book: Rulebook, subject: SubjectKind) -> bool:
    return any(PROTECTION in kind.met_by for kind in book.kinds_of(subject))


def lacks_now(asked: Asked) -> tuple[Lack, ...]:
    """Return what lacks on the day asked about, under the rules in force then."""
    if asked.as_of >= _last_day(asked):
        return ()
    books = known_entries(entries=asked.rulebooks, as_of=asked.as_of, known_at=asked.known_at)
    return _lacks(asked, on=asked.as_of, book=books[-1].rulebook)


def _lacks(asked: Asked, *, on: date, book: Rulebook) -> tuple[Lack, ...]:
    if not _is_asked(book, asked.subject):
        return ()
    found = (_lack(asked, service=service, on=on, book=book) for service in asked.services)
    return tuple(lack for lack in found if lack is not None)


def _lack(asked: Asked, *, service: Service, on: date, book: Rulebook) -> Lack | None:
    gone_on = disconnected_on(service, known_at=asked.known_at)
    if service.recorded_on > on or (gone_on is not None and gone_on <= on):
        return None
    attributes = service_attributes(service, on, place=asked.place, known_at=asked.known_at)
    has = _types_on(service, on=on, known_at=asked.known_at, book=book, attributes=attributes)
    rule = book.lacks_protection(installed=has, attributes=attributes)
    if rule is None:
        return None
    return Lack(service=service, attributes=attributes, rule=rule, has=tuple(has))


def _types_on(
    service: Service,
    *,
    on: date,
    known_at: datetime | None,
    book: Rulebook,
    attributes: Attributes,
) -> Sequence[AssemblyType]:
    """Return the types in place that count under the rule: of containment only where it says so."""
    return _there(service, on=on, known_at=known_at, rule=book.protection_rule(attributes))


def _there(
    service: Service, *, on: date, known_at: datetime | None, rule: ProtectionRule | None
) -> list[AssemblyType]:
    counted = rule.match.protects if rule is not None else frozenset()
    there = [
        kind_of_guard(guard, on, known_at=known_at)
        for guard in known(service.guards, at=known_at)
        if in_place(guard, known_at=known_at).is_there(on)
    ]
    return sorted({type_ for type_, protects in there if not counted or protects in counted})
