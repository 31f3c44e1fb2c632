"""Premises, their service connections, and the parties behind them, changed by a person."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from typing import Any

from django.db import transaction
from django.db.models import F

from registry.changes import Hand, record_change
from registry.domain.identity import party_key, premises_key
from registry.domain.kinds import PartyRole
from registry.models import Party, Premises, PremisesParty, Program, ServiceConnection
from scheduling.actions.by_hand.rows import RefusedChangeError, keep_once
from scheduling.models import Obligation
from scheduling.queries.where import at_premises


@transaction.atomic
def keep_premises(
    *, program: Program, premises: Premises | None, values: Mapping[str, Any], hand: Hand
) -> Premises:
    """Write a premises. Raises RefusedChangeError where its account and address are taken."""
    key = premises_key(account=values["account"], address=values["address"], city=values["city"])
    taken = RefusedChangeError(
        field="address",
        message="Another premises has this account and address. Open that one, or mend these.",
    )
    row = premises or Premises(program=program)
    return keep_once(row, values={**values, "key": key}, hand=hand, program=program, refusal=taken)


@transaction.atomic
def keep_connection(
    *,
    premises: Premises,
    connection: ServiceConnection | None,
    values: Mapping[str, Any],
    hand: Hand,
) -> ServiceConnection:
    """Write a service connection. Raises RefusedChangeError for a second of the same name."""
    taken = RefusedChangeError(
        field="name", message="This premises has such a connection already. Give this one a name."
    )
    row = connection or ServiceConnection(premises=premises)
    return keep_once(row, values=values, hand=hand, program=premises.program, refusal=taken)


@transaction.atomic
def keep_party(
    *, program: Program, party: Party | None, values: Mapping[str, Any], hand: Hand
) -> Party:
    """Write a party. Raises RefusedChangeError where name and mailing address are taken."""
    key = party_key(
        name=values["name"],
        address=values["address"],
        city=values["city"],
        state=values["state"],
        zip_code=values["zip"],
    )
    taken = RefusedChangeError(
        field="name",
        message="A party with this name and mailing address is on record already. Choose that one.",
    )
    row = party or Party(program=program)
    return keep_once(row, values={**values, "key": key}, hand=hand, program=program, refusal=taken)


@transaction.atomic
def name_party(
    *, premises: Premises, role: PartyRole, party: Party, since_on: date, hand: Hand
) -> PremisesParty:
    """Say what a party is to a premises from a day on; who was it before ends that day.

    A new owner or customer restarts the lawful part of the ladder of what is open there.
    """
    now = PremisesParty.objects.select_for_update().filter(
        premises=premises, role=role, until_on__isnull=True
    )
    before = now.select_related("party").first()
    if before and before.party_id == party.pk:
        return before
    now.update(until_on=since_on)
    named = PremisesParty.objects.create(
        premises=premises, role=role, party=party, since_on=since_on
    )
    record_change(
        hand=hand,
        what="premises",
        subject_id=premises.pk,
        label=str(premises),
        before={role.value: str(before.party)} if before else {},
        after={role.value: str(party), "since_on": since_on.isoformat()},
        program=premises.program,
    )
    if before and role in {PartyRole.OWNER, PartyRole.CUSTOMER}:
        Obligation.objects.filter(
            at_premises([premises.pk]), opened_on__isnull=False, closed_on__isnull=True
        ).update(lawful_since=since_on, next_action_on=F("opened_on"))
    return named
