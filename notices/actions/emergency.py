"""An emergency order: a person signs it at once, with the reason; the notice follows."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.db import transaction

from notices.actions.clocks import Day, locked_clock
from notices.actions.extra_letters import Wanted, write_letter
from notices.actions.orders import Signer, refuse_second_shutoff
from notices.actions.releasing import release_letters
from notices.actions.work_orders import make_work_orders
from notices.domain.order_letters import OrderBrief, OrderLetter, emergency
from notices.domain.shutoffs import WorkOrderKind
from notices.models import Letter, Shutoff
from notices.queries.briefs import sender_of
from notices.queries.evidence import taken_off
from notices.queries.place_items import place_words
from notices.queries.responsible import recipient_keys, recipients
from notices.queries.shutoff_rules import in_force
from registry.access import Verb, may
from registry.changes import Hand, record_change
from registry.console import Refused
from registry.models import Premises, ServiceConnection
from scheduling.closed_days import closed_days
from scheduling.domain.rules import Provision, Topic
from scheduling.domain.workdays import days_after

NO_RULE = (
    "The rulebook in force says nothing of an emergency, so no emergency order can be signed on "
    "it. Put the rule of your code into a draft of the rulebook first. In real danger act as your "
    "local law lets you, and record afterwards what was done."
)


@dataclass(frozen=True, kw_only=True)
class Emergency:
    """What stands before the signer's eyes: the services, what they take along, and the rule."""

    premises: Premises
    services: tuple[ServiceConnection, ...]
    rule: Provision | None
    found: dict[str, Any]

    @property
    def holds(self) -> tuple[str, ...]:
        """Why it must not be signed."""
        told = list(self.found["service_holds"])
        if not self.services:
            told.append("Choose the services to shut.")
        if self.rule is None:
            told.append(NO_RULE)
        return tuple(told)

    @property
    def digest(self) -> str:
        """The SHA-256 of what was shown."""
        text = json.dumps(self.kept(), sort_keys=True, ensure_ascii=False)
        return hashlib.sha256(text.encode("utf-8")).hexdigest()

    def kept(self) -> dict[str, Any]:
        """What is kept with the signature."""
        plain: dict[str, Any] = json.loads(json.dumps(self.found))
        return {**plain, "service_ids": [one.pk for one in self.services]}


def emergency_at(
    premises: Premises, *, services: Sequence[ServiceConnection], today: date
) -> Emergency:
    """Return what an emergency order at these services would take, as the record stands."""
    first = services[0] if services else None
    return Emergency(
        premises=premises,
        services=tuple(services),
        rule=in_force(
            premises.program, topic=Topic.EMERGENCY, on=today, premises=premises, service=first
        ),
        found=taken_off(premises, services=services, today=today),
    )


def sign_emergency(
    premises: Premises, *, services: Sequence[ServiceConnection], reason: str, signer: Signer
) -> Shutoff:
    """Sign it: the work orders are made for today, and the notice after the fact is written.

    Refused for a dedicated fire line, a combined service without the fire department's answer, a
    medical supply without consent: stricter than some codes, in an emergency too.
    """
    program = premises.program
    if not may(signer.user, Verb.SIGN, program=program):
        raise Refused("Your role does not sign orders.")
    if not reason.strip():
        raise Refused("Say what the danger is; the reason is kept and stands in the notice.")
    hand = Hand(by=signer.name, at=signer.at, reason=reason[:500])
    with transaction.atomic():
        locked_clock(program)
        seen = emergency_at(premises, services=services, today=signer.today)
        for hold in seen.holds:
            raise Refused(f"It cannot be signed. {hold}")
        if seen.digest != signer.seen:
            raise Refused("The record has changed since you looked. Read it again.")
        refuse_second_shutoff(premises)
        made = _signed(seen, reason=reason, signer=signer)
        _changed(made, hand=hand)
        make_work_orders(
            made,
            services=list(seen.services),
            kind=WorkOrderKind.OFF,
            for_on=signer.today,
            hand=hand,
        )
    _tell(made, day=Day(program=program, on=signer.today, at=signer.at), by=signer.name)
    return made


def _signed(seen: Emergency, *, reason: str, signer: Signer) -> Shutoff:
    assert seen.rule is not None
    program = seen.premises.program
    by = None
    if seen.rule.days is not None:
        by = days_after(
            signer.today,
            seen.rule.days,
            is_working=seen.rule.is_working,
            holidays=closed_days(program.state),
        )
    return Shutoff.objects.create(
        program=program,
        premises=seen.premises,
        is_emergency=True,
        reason=reason.strip()[:1000],
        citation=seen.rule.citation[:500],
        signed_on=signer.today,
        signed_at=signer.at,
        signed_by=signer.name,
        signed_role=signer.role,
        user_id=signer.user.pk,
        evidence=seen.kept(),
        evidence_sha256=seen.digest,
        notice_by=by,
    )


def _tell(shutoff: Shutoff, *, day: Day, by: str) -> Letter:
    """Write the notice, and let it go: who signed the order has ordered it with it."""
    premises = shutoff.premises
    services = ServiceConnection.objects.filter(pk__in=shutoff.evidence["service_ids"])
    brief = OrderBrief(
        place=place_words(premises),
        sender=sender_of(shutoff.program),
        services=tuple(one.kind or "service" for one in services.order_by("pk")),
        citation=shutoff.citation,
        off_on=shutoff.signed_on,
        reason=shutoff.reason,
    )
    key = recipient_keys([premises.pk], today=day.on)[premises.pk]
    letter = write_letter(
        Wanted(
            kind=OrderLetter.EMERGENCY,
            key=emergency_key(shutoff),
            recipient=recipients([key])[key],
            text_in=lambda words: emergency(brief, words=words),
        ),
        day=day,
    )
    if not letter.flags:
        release_letters(
            program=shutoff.program, letter_ids=[letter.pk], by=by, at=day.at, today=day.on
        )
    return letter


def emergency_key(shutoff: Shutoff) -> str:
    """Return what the notice of an emergency order is about, as letters name it."""
    return f"emergency:{shutoff.pk}"


def _changed(shutoff: Shutoff, *, hand: Hand) -> None:
    record_change(
        hand=hand,
        what="shutoff",
        subject_id=shutoff.pk,
        label=f"emergency order at {shutoff.premises}",
        before={},
        after={"state": shutoff.state, "evidence": shutoff.evidence_sha256},
        program=shutoff.program,
    )
