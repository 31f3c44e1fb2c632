"""What a person must have before their eyes when signing an order: the steps, and what goes off."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import asdict, dataclass
from datetime import date
from typing import Any

from django.db.models import Q

from notices.domain.kinds import FireLine
from notices.domain.long_dates import long_date
from notices.domain.orders import fire_line_of
from notices.domain.shutoffs import AnswerKind
from notices.models import Contact, Letter, LetterNotice, Notice, Objection, ReturnedLetter
from notices.queries.shutoff_holds import answer_of, hold_on, hold_on_service
from registry.domain.kinds import PartyRole
from registry.models import Assembly, Premises, PremisesParty, ServiceConnection
from scheduling.models import Obligation

_SAID = 12
"""Contacts shown before a signature; all of them stand on the page of the premises."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SentNotice:
    """A rung that left: when, in which letter, by what way, and on what ground."""

    rung: str
    left_on: str
    letter: str
    channel: str
    citation: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Case:
    """One assembly of the order: its dates and the notices that left."""

    assembly_id: int
    serial: str
    type: str
    service: str
    location: str
    hazard: str
    due_on: str
    failed_on: str
    cure_by: str
    last_passed_on: str
    sent: tuple[SentNotice, ...]
    held: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Evidence:
    """Everything shown before a signature.

    `also_off` lists what else the shutoff would take, `stays_on` what stands at other services of
    the premises, `behind` who lives or works there, `said` what was said and what came back.
    """

    letter: str
    citation: str
    premises: str
    cases: tuple[Case, ...]
    services: tuple[str, ...]
    also_off: tuple[str, ...]
    stays_on: tuple[str, ...]
    behind: tuple[str, ...]
    said: tuple[str, ...]
    has_tenants: bool
    medical: str
    fire: str
    service_holds: tuple[str, ...] = ()

    def to_json(self) -> dict[str, Any]:
        """Return it as plain values; its digest is kept with the signature."""
        return asdict(self)

    @property
    def holds(self) -> tuple[str, ...]:
        """Why it must not be signed, each reason once."""
        found = [*(case.held for case in self.cases), *self.service_holds]
        return tuple(dict.fromkeys(filter(None, found)))


def evidence_of(letter: Letter, *, today: date) -> Evidence:
    """Return the evidence as the record stands today."""
    notices = list(
        Notice.objects.filter(carried__letter=letter)
        .select_related(
            "obligation__assembly__premises",
            "obligation__assembly__connection",
            "obligation__assembly__state",
        )
        .order_by("obligation__assembly__serial")
        .distinct()
    )
    rows = [notice.obligation for notice in notices if notice.obligation is not None]
    premises = notices[0].premises
    services = services_of(row.its_assembly for row in rows)
    return Evidence(
        letter=letter.number,
        citation=notices[0].citation,
        premises=f"{premises.account} {premises.address}".strip(),
        cases=tuple(_case(row, today=today) for row in rows),
        **taken_off(premises, services=services, but={row.its_assembly.pk for row in rows},
                    today=today),
    )  # fmt: skip


def services_of(assemblies: Iterable[Assembly]) -> list[ServiceConnection]:
    """Return the services that must be shut for these assemblies, each once."""
    return list({one.connection_id: one.connection for one in assemblies}.values())


def taken_off(
    premises: Premises,
    *,
    services: Sequence[ServiceConnection],
    but: Collection[int] = (),
    today: date,
) -> dict[str, Any]:
    """Return what shutting these services takes with it, as the fields of `Evidence`."""
    keys = {one.pk for one in services}
    here = Assembly.objects.filter(premises=premises, state__removed_on__isnull=True)
    others = here.exclude(pk__in=but).select_related("connection").order_by("serial", "pk")
    also = [_named(one) for one in others if one.connection_id in keys]
    stays = [_named(one) for one in others if one.connection_id not in keys]
    stays += [
        f"Service {_service(one)}"
        for one in premises.connections.exclude(pk__in=keys).order_by("kind", "name")
    ]
    holds = (hold_on_service(one, today=today) for one in services)
    return {
        "services": tuple(_service(one) for one in services),
        "also_off": tuple(also),
        "stays_on": tuple(stays),
        "behind": tuple(people_behind(premises, today=today)),
        "said": tuple(_said(premises)),
        "has_tenants": premises.has_tenants,
        "medical": _medical(premises),
        "fire": _fire(premises, services=services),
        "service_holds": tuple(dict.fromkeys(filter(None, holds))),
    }


def _case(row: Obligation, *, today: date) -> Case:
    assembly = row.its_assembly
    state = getattr(assembly, "state", None)
    passed = state.last_passed_on if state else None
    return Case(
        assembly_id=assembly.pk,
        serial=assembly.serial,
        type=assembly.type,
        service=assembly.connection.kind,
        location=assembly.location,
        hazard=assembly.hazard,
        due_on=row.due_on.isoformat(),
        failed_on=row.failed_on.isoformat() if row.failed_on else "",
        cure_by=row.cure_by.isoformat() if row.cure_by else "",
        last_passed_on=passed.isoformat() if passed else "",
        sent=tuple(_sent(row)),
        held=hold_on(assembly, today=today),
    )


def _sent(row: Obligation) -> list[SentNotice]:
    carried = (
        LetterNotice.objects.filter(notice__obligation=row, notice__left_on__isnull=False)
        .filter(is_live=True, notice__sent_in_error_on__isnull=True)
        .select_related("notice", "letter")
        .order_by("notice__left_on", "pk")
    )
    brought = Notice.objects.filter(
        obligation=row, is_brought_along=True, sent_in_error_on__isnull=True
    )
    stated = [
        SentNotice(
            rung=notice.rung,
            left_on=notice.left_on.isoformat() if notice.left_on else "",
            letter="as stated; no copy is kept here",
            channel="",
            citation=notice.citation,
        )
        for notice in brought.order_by("left_on", "pk")
    ]
    return stated + [
        SentNotice(
            rung=link.notice.rung,
            left_on=link.notice.left_on.isoformat() if link.notice.left_on else "",
            letter=link.letter.number,
            channel=link.letter.channel,
            citation=link.notice.citation,
        )
        for link in carried
    ]


def _named(one: Assembly) -> str:
    return f"{one.type} {one.serial}, {one.location}".rstrip(", ")


def _service(one: ServiceConnection) -> str:
    return f"{one.kind or 'not recorded'} {one.name}".strip()


def people_behind(premises: Premises, *, today: date) -> Iterator[str]:
    """Who else lives or works behind the service, by role."""
    roles = PremisesParty.objects.filter(premises=premises).filter(
        Q(until_on__isnull=True) | Q(until_on__gt=today)
    )
    for one in roles.exclude(role=PartyRole.OWNER).select_related("party").order_by("role", "pk"):
        yield f"{one.role.capitalize()}: {one.party.name}"


def _said(premises: Premises) -> Iterator[str]:
    """What was said, promised, objected to, and which letters came back, the newest first."""
    found: list[tuple[date, str]] = []
    talks = Contact.objects.filter(premises=premises, withdrawn_at__isnull=True)
    for talk in talks.order_by("-on", "-pk")[:_SAID]:
        promise = f" Promised for {long_date(talk.promised_for)}." if talk.promised_for else ""
        who = f" with {talk.spoken_with}" if talk.spoken_with else ""
        found.append((talk.on, f"{talk.kind.capitalize()}{who}: {talk.words}{promise}"))
    for one in Objection.objects.filter(premises=premises):
        how = f"decided: {one.outcome}. {one.decision}" if one.decided_on else "not decided yet"
        found.append((one.raised_on, f"{one.kind.capitalize()} of {one.raised_by}, {how}"))
    back = ReturnedLetter.objects.filter(letter__carried__notice__premises=premises)
    found += [
        (row.came_back_on, f"Letter {row.letter.number} came back {row.how}")
        for row in back.select_related("letter").distinct()
    ]
    for on, words in sorted(found, key=lambda pair: pair[0], reverse=True):
        yield f"{long_date(on)}. {words}"


def _medical(premises: Premises) -> str:
    if not premises.has_medical_supply:
        return ""
    answer = answer_of(premises, kind=AnswerKind.MEDICAL)
    return answer.in_words if answer else "Needed without a break; no consent recorded."


def _fire(premises: Premises, *, services: Sequence[ServiceConnection]) -> str:
    combined = premises.has_combined_fire or any(
        fire_line_of(service=one.kind, type_="", has_combined_fire=False) is FireLine.COMBINED
        for one in services
    )
    if not combined:
        return ""
    answer = answer_of(premises, kind=AnswerKind.FIRE)
    return (
        answer.in_words
        if answer
        else "Feeds a fire system; no answer of the fire department recorded."
    )
