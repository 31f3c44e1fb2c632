"""A person signs an order with the evidence in view; only then does it leave."""

from __future__ import annotations

import hashlib
import json
from datetime import date, datetime

from django.contrib.auth.models import AbstractBaseUser
from django.db import transaction

from notices.actions.clocks import Day, locked_clock
from notices.actions.releasing import held_letter, release, why_it_cannot_leave
from notices.models import Letter, OrderSignature
from notices.queries.evidence import Evidence, evidence_of
from registry.access import Verb, may
from registry.changes import Hand
from registry.console import Refused


def evidence_digest(evidence: Evidence) -> str:
    """Return the SHA-256 of the evidence: what the page shows and the signature keeps."""
    text = json.dumps(evidence.to_json(), sort_keys=True, ensure_ascii=False)
    return hashlib.sha256(text.encode("utf-8")).hexdigest()


def sign_order(
    *, letter: Letter, user: AbstractBaseUser, role: str, at: datetime, today: date, seen: str
) -> OrderSignature:
    """Sign the order and let it go; Refused when it may not be signed.

    `seen` is the digest of the evidence the person was shown. When the record has
    changed since, nothing is signed: they must look again.
    """
    program = letter.program
    if not may(user, Verb.SIGN, program=program):
        raise Refused("Your role does not sign orders.")
    with transaction.atomic():
        locked_clock(program)
        held = held_letter(program, letter_id=letter.pk)
        if held is None or not held.is_order:
            raise Refused("This letter is no order.")
        why = why_it_cannot_leave(held, day=Day(program=program, on=today, at=at))
        evidence = evidence_of(held) if not why else None
        if evidence is not None:
            _refuse_unfit(held, evidence=evidence, seen=seen)
            signature = _signature(held, user=user, role=role, at=at, evidence=evidence)
            release(held, hand=Hand(by=signature.name, at=at), today=today)
            return signature
    # Outside the transaction, so that a withdrawal found on the way is kept.
    raise Refused(f"It cannot be signed. {why}")


def _refuse_unfit(letter: Letter, *, evidence: Evidence, seen: str) -> None:
    if evidence.holds:
        raise Refused(f"It cannot be signed. {evidence.holds[0]}")
    if letter.flags:
        raise Refused(f"Mend the letter first. {letter.flags[0]}")
    if evidence_digest(evidence) != seen:
        raise Refused("The record has changed since you looked. Read the evidence again.")


def _signature(
    letter: Letter, *, user: AbstractBaseUser, role: str, at: datetime, evidence: Evidence
) -> OrderSignature:
    name = user.get_username()
    full = getattr(user, "get_full_name", lambda: "")()
    return OrderSignature.objects.create(
        letter=letter,
        user_id=user.pk,
        name=full or name,
        role=role,
        at=at,
        evidence=evidence.to_json(),
        evidence_sha256=evidence_digest(evidence),
    )
