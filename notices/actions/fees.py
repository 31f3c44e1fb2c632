"""Fees as plain records: owed by a rule of the rulebook, paid or waived. No payment is taken."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from django.db import transaction

from notices.actions.clocks import locked_clock
from notices.domain.shutoffs import FeeState
from notices.models import Fee, Shutoff
from notices.queries.shutoff_rules import fee_rules
from registry.changes import Hand, record_change
from registry.console import Refused
from registry.models import Premises

MOST = Decimal(100_000)


@dataclass(frozen=True, kw_only=True)
class NewFee:
    """A fee a person writes down: by which rule of the rulebook, how much, what for."""

    rule: str
    amount: Decimal
    why: str
    on: date
    form_key: str
    shutoff: Shutoff | None = None


def owe_fee(premises: Premises, *, new: NewFee, today: date, hand: Hand) -> Fee:
    """Write a fee down as owed; Refused where no rule in force names one.

    The form sent twice makes one fee.
    """
    rules = {rule.id: rule for rule in fee_rules(premises.program, on=new.on)}
    rule = rules.get(new.rule)
    if rule is None:
        raise Refused(
            "The rulebook in force names no such fee, so none can be asked. Put the rule of your "
            "code into a draft of the rulebook first."
        )
    if not Decimal(0) < new.amount <= MOST:
        raise Refused(f"An amount is above 0 and at most {MOST:,}; {new.amount} is not.")
    if new.on > today:
        raise Refused("That day has not come yet. Name the day the fee became owed.")
    with transaction.atomic():
        locked_clock(premises.program)
        made, is_new = Fee.objects.get_or_create(
            program=premises.program,
            form_key=new.form_key,
            defaults={
                "premises": premises,
                "shutoff": new.shutoff,
                "rule": rule.id,
                "citation": rule.citation[:500],
                "amount": new.amount,
                "why": new.why.strip()[:300],
                "owed_on": new.on,
                "state": FeeState.OWED.value,
                "recorded_at": hand.at,
                "recorded_by": hand.by,
            },
        )
        if is_new:
            after = {"state": made.state, "amount": str(made.amount), "rule": made.rule}
            _changed(made, hand=hand, before={}, after=after)
        return made


def settle_fee(fee: Fee, *, state: FeeState, on: date, today: date, hand: Hand) -> None:
    """Write down that an owed fee was paid, waived, or entered in error; once."""
    if state is FeeState.OWED:
        raise Refused("Say whether it was paid, waived, or entered in error.")
    if state is not FeeState.PAID and not hand.reason.strip():
        raise Refused("Say why; the reason is kept.")
    if on > today or on < fee.owed_on:
        raise Refused("The day lies before the fee was owed, or has not come yet.")
    with transaction.atomic():
        locked_clock(fee.program)
        changed = Fee.objects.filter(pk=fee.pk, state=FeeState.OWED.value).update(
            state=state.value,
            settled_on=on,
            settled_by=hand.by,
            settled_at=hand.at,
            settled_words=hand.reason[:300],
        )
        if not changed:
            raise Refused("It is not owed any more.")
        _changed(fee, hand=hand, before={"state": "owed"}, after={"state": state.value})


def _changed(fee: Fee, *, hand: Hand, before: dict[str, str], after: dict[str, str]) -> None:
    record_change(
        hand=hand,
        what="fee",
        subject_id=fee.pk,
        label=f"{fee.amount} at {fee.premises}",
        before=before,
        after=after,
        program=fee.program,
    )
