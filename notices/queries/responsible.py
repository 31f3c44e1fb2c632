"""Whom the program writes to: the party bound for a premises, and how its mail is addressed."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date

from django.db.models import Q, QuerySet

from notices.domain.addresses import MailingAddress
from registry.batches import in_batches
from registry.domain.kinds import PartyRole
from registry.models import Party, Premises, PremisesParty

ROLE_ORDER = (PartyRole.OWNER, PartyRole.CUSTOMER, PartyRole.MANAGER, PartyRole.OCCUPANT)
"""Until a rulebook names its recipients: the owner first, then the holder of the account."""


@dataclass(frozen=True, slots=True)
class Recipient:
    """One addressee: a party, or whoever is at a premises of which no party is known."""

    key: str
    party: Party | None
    mailing: MailingAddress
    language: str


def recipient_keys(premises_ids: Sequence[int], *, today: date) -> dict[int, str]:
    """Return for each premises the key of whom the program writes to there."""
    bound: dict[int, tuple[int, str]] = {}
    for batch in in_batches(dict.fromkeys(premises_ids)):
        roles = current_roles(today).filter(premises__in=batch)
        for premises_id, party_id, role in roles.values_list("premises_id", "party_id", "role"):
            place = ROLE_ORDER.index(PartyRole(role))
            best = bound.get(premises_id)
            if best is None or place < best[0]:
                bound[premises_id] = (place, f"party:{party_id}")
    return {key: bound[key][1] if key in bound else f"premises:{key}" for key in premises_ids}


def recipients(keys: Iterable[str]) -> dict[str, Recipient]:
    """Return the addressees of these keys."""
    found: dict[str, Recipient] = {}
    for batch in in_batches(dict.fromkeys(keys)):
        parties = [int(key.partition(":")[2]) for key in batch if key.startswith("party:")]
        places = [int(key.partition(":")[2]) for key in batch if key.startswith("premises:")]
        homes = _homes(parties)
        for party in Party.objects.filter(pk__in=parties):
            found[f"party:{party.pk}"] = _of_party(party, home=homes.get(party.pk))
        for premises in Premises.objects.filter(pk__in=places):
            found[f"premises:{premises.pk}"] = _of_premises(premises)
    return found


def current_roles(today: date) -> QuerySet[PremisesParty]:
    """Return who is what to which premises on a day, in the order in which it was recorded."""
    return PremisesParty.objects.filter(
        Q(until_on__isnull=True) | Q(until_on__gt=today),
        Q(since_on__isnull=True) | Q(since_on__lte=today),
    ).order_by("premises_id", "id")


def _homes(parties: Sequence[int]) -> dict[int, Premises]:
    """A premises of each party that has no mailing address of its own."""
    roles = (
        PremisesParty.objects.filter(party__in=parties, party__address="", until_on__isnull=True)
        .select_related("premises")
        .order_by("-premises_id")
    )
    return {role.party_id: role.premises for role in roles}


def _of_party(party: Party, *, home: Premises | None) -> Recipient:
    place: Party | Premises = party if party.address.strip() or home is None else home
    return Recipient(
        key=f"party:{party.pk}",
        party=party,
        mailing=MailingAddress(
            name=party.name,
            street=place.address,
            city=place.city,
            state=place.state,
            zip=place.zip,
        ),
        language=party.language,
    )


def _of_premises(premises: Premises) -> Recipient:
    return Recipient(
        key=f"premises:{premises.pk}",
        party=None,
        mailing=MailingAddress(
            name="Owner or occupant",
            street=premises.address,
            city=premises.city,
            state=premises.state,
            zip=premises.zip,
        ),
        language=premises.language or "en",
    )
