"""A person signs an order with the evidence in view; only then does it leave.

Where the rulebook asks for a second person, it leaves when another one has signed the same
evidence.
"""

from __future__ import annotations

import hashlib
import json
from dataclasses import dataclass
from datetime import date, datetime

from django.contrib.auth.models import AbstractBaseUser
from django.db import transaction

from notices.actions.clocks import Day, locked_clock
from notices.actions.releasing import held_letter, release, why_it_cannot_leave
from notices.domain.shutoffs import LIVE_SHUTOFFS
from notices.models import Letter, OrderSignature, SecondSignature, Shutoff
from notices.queries.evidence import Evidence, evidence_of
from notices.queries.shutoff_rules import of_order
from registry.access import Verb, may
from registry.changes import Hand, record_change
from registry.console import Refused
from registry.models import Premises
from scheduling.domain.rules import Topic


@dataclass(frozen=True, kw_only=True)
class Signer:
    """Who signs, in which role, at which moment, having seen which evidence."""

    user: AbstractBaseUser
    role: str
    at: datetime
    today: date
    seen: str

    @property
    def name(self) -> str:
        """The full name, else the log-in name."""
        full = getattr(self.user, "get_full_name", lambda: "")()
        return str(full or self.user.get_username())


def evidence_digest(evidence: Evidence) -> str:
    """Return the SHA-256 of the evidence: what the page shows and the signature keeps."""
    text = json.dumps(evidence.to_json(), sort_keys=True, ensure_ascii=False)
    return hashlib.sha256(text.encode("utf-8")).hexdigest()


def sign_order(*, letter: Letter, signer: Signer) -> OrderSignature:
    """Sign the order and let it go; Refused when it may not be signed.

    `signer.seen` is the digest of the evidence the person was shown. When the record has
    changed since, nothing is signed: they must look again. Where the rulebook asks for a second
    person the order stays until `sign_as_second`; the first may sign anew what has changed.
    """
    with transaction.atomic():
        why, held, evidence = _looked_at(letter, signer=signer)
        if held is not None and evidence is not None:
            signature = _signature(held, signer=signer, evidence=evidence)
            if of_order(held, topic=Topic.SECOND_PERSON) is None:
                _ordered(held, signer=signer, evidence=evidence)
            return signature
    # Outside the transaction, so that a withdrawal found on the way is kept.
    raise Refused(f"It cannot be signed. {why}")


def sign_as_second(*, letter: Letter, signer: Signer) -> SecondSignature:
    """Sign as the second person and let the order go; Refused for the first person again.

    Both sign the same evidence: when it changed after the first signed, the first signs anew.
    """
    with transaction.atomic():
        why, held, evidence = _looked_at(letter, signer=signer)
        if held is not None and evidence is not None:
            first = OrderSignature.objects.filter(letter=held).first()
            if first is None:
                raise Refused("Nobody has signed it yet. Sign it as the first.")
            if first.user_id == signer.user.pk:
                raise Refused("You have signed it. The rulebook asks for a second person.")
            if first.evidence_sha256 != signer.seen:
                raise Refused(
                    f"The record has changed since {first.name} signed. {first.name} reads and "
                    "signs it anew, then you."
                )
            second = SecondSignature.objects.create(
                first=first,
                user_id=signer.user.pk,
                name=signer.name,
                role=signer.role,
                at=signer.at,
                evidence_sha256=signer.seen,
            )
            _ordered(held, signer=signer, evidence=evidence)
            return second
    raise Refused(f"It cannot be signed. {why}")


def refuse_second_shutoff(premises: Premises) -> None:
    """Raise Refused where a shutoff of the premises is under way: one at a time."""
    live = Shutoff.objects.filter(premises=premises, state__in=LIVE_SHUTOFFS).first()
    if live is not None:
        raise Refused(
            "A shutoff of these premises is under way already. End it first: water back, or "
            "called off."
        )


def _looked_at(letter: Letter, *, signer: Signer) -> tuple[str, Letter | None, Evidence | None]:
    """The letter locked, and the evidence fit to be signed; or why it does not stand any more."""
    program = letter.program
    if not may(signer.user, Verb.SIGN, program=program):
        raise Refused("Your role does not sign orders.")
    locked_clock(program)
    held = held_letter(program, letter_id=letter.pk)
    if held is None or not held.is_order:
        raise Refused("This letter is no order.")
    why = why_it_cannot_leave(held, day=Day(program=program, on=signer.today, at=signer.at))
    if why:
        return why, None, None
    evidence = evidence_of(held, today=signer.today)
    _refuse_unfit(held, evidence=evidence, seen=signer.seen)
    refuse_second_shutoff(_premises_of(held))
    return "", held, evidence


def _refuse_unfit(letter: Letter, *, evidence: Evidence, seen: str) -> None:
    if evidence.holds:
        raise Refused(f"It cannot be signed. {evidence.holds[0]}")
    if letter.flags:
        raise Refused(f"Mend the letter first. {letter.flags[0]}")
    if evidence_digest(evidence) != seen:
        raise Refused("The record has changed since you looked. Read the evidence again.")


def _premises_of(letter: Letter) -> Premises:
    return Premises.objects.filter(notices__carried__letter=letter).order_by("pk")[0]


def _signature(letter: Letter, *, signer: Signer, evidence: Evidence) -> OrderSignature:
    before = OrderSignature.objects.filter(letter=letter).first()
    if before is not None and before.user_id != signer.user.pk:
        raise Refused(f"{before.name} has signed it. Sign it as the second person.")
    made, _ = OrderSignature.objects.update_or_create(
        letter=letter,
        defaults={
            "user_id": signer.user.pk,
            "name": signer.name,
            "role": signer.role,
            "at": signer.at,
            "evidence": evidence.to_json(),
            "evidence_sha256": evidence_digest(evidence),
        },
    )
    record_change(
        hand=Hand(by=signer.name, at=signer.at),
        what="order",
        subject_id=letter.pk,
        label=f"{letter.number}, signed",
        before={"evidence": before.evidence_sha256} if before else {},
        after={"evidence": made.evidence_sha256, "role": made.role},
        program=letter.program,
    )
    return made


def _ordered(letter: Letter, *, signer: Signer, evidence: Evidence) -> Shutoff:
    """All have signed: the letter goes, and the shutoff is on record as signed."""
    release(letter, hand=Hand(by=signer.name, at=signer.at), today=signer.today)
    first = OrderSignature.objects.get(letter=letter)
    return Shutoff.objects.create(
        program=letter.program,
        premises=_premises_of(letter),
        order=letter,
        citation=evidence.citation,
        signed_on=signer.today,
        signed_at=signer.at,
        signed_by=first.name,
        signed_role=first.role,
        evidence_sha256=evidence_digest(evidence),
    )
