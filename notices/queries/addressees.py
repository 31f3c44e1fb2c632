"""To whom a rung goes: the roles its rulebook names, as the parties and places of a premises."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from datetime import date

from notices.domain.addresses import MailingAddress
from notices.queries.fire_department import fire_department
from notices.queries.responsible import (
    Recipient,
    current_roles,
    recipient_keys,
    recipients,
)
from registry.batches import in_batches
from registry.domain.kinds import PartyRole
from registry.models import Assignment, Firm, Premises, PremisesParty, Program
from scheduling.domain.rungs import Recipient as Role

Wanted = tuple[int, tuple[Role, ...]]
"""A premises, and the roles that a rung names; none: the responsible party."""

OCCUPANT, SERVICE, FIRE, FIRM = "occupant", "service", "fire", "firm"
PARTY = {
    Role.OWNER: PartyRole.OWNER,
    Role.MANAGER: PartyRole.MANAGER,
    Role.CUSTOMER: PartyRole.CUSTOMER,
    Role.BILLING_ADDRESS: PartyRole.CUSTOMER,
}
OPTIONAL = frozenset({Role.MANAGER})
"""Where nobody has such a role, the responsible party is not written to in its stead."""

NOBODY = {
    FIRE: "Record the fire department's address on the page Orders first.",
    FIRM: "No testing company is assigned to the premises: assign one first.",
}


def addressees(
    wanted: Iterable[Wanted], *, program: Program, today: date
) -> dict[Wanted, tuple[str, ...]]:
    """Return for each premises and roles the keys of whom to write to, each once.

    A role that nobody has goes to the responsible party. A letter to the service address and
    one to the billing address are one where the two are the same.
    """
    asked = list(dict.fromkeys(wanted))
    bound = recipient_keys([premises for premises, _ in asked], today=today)
    special = [premises for premises, roles in asked if roles]
    known = _Known(
        program=program,
        bound=bound,
        parties=_parties(special, today=today),
        firms=_firms([p for p, roles in asked if Role.FIRM in roles]),
    )
    found = {(premises, roles): known.keys_of(premises, roles) for premises, roles in asked}
    return _once_for_an_address(found)


def nobody_to_write_to(key: str, *, program: Program) -> str:
    """Return what a person must record before a letter can go to this key, or nothing."""
    kind, _, name = key.partition(":")
    if kind == FIRE and fire_department(program) is None:
        return NOBODY[FIRE]
    return NOBODY[FIRM] if kind == FIRM and not name else ""


def recipients_by_key(keys: Iterable[str], *, program: Program) -> dict[str, Recipient]:
    """Return the addressees of these keys, of every kind there is."""
    asked = list(dict.fromkeys(keys))
    by_kind: dict[str, list[str]] = defaultdict(list)
    for key in asked:
        by_kind[key.partition(":")[0]].append(key)
    found = recipients([*by_kind["party"], *by_kind["premises"]])
    found |= _at_places([*by_kind[OCCUPANT], *by_kind[SERVICE]])
    firms = Firm.objects.in_bulk([_id_of(key) for key in by_kind[FIRM]])
    found |= {f"{FIRM}:{pk}": _of_firm(firm) for pk, firm in firms.items()}
    for key in by_kind[FIRE]:
        department = fire_department(program)
        if department is not None:
            found[key] = department
    return found


class _Known:
    """The people of some premises, and how a role becomes a key."""

    def __init__(
        self,
        *,
        program: Program,
        bound: Mapping[int, str],
        parties: Mapping[tuple[int, str], int],
        firms: Mapping[int, int],
    ) -> None:
        self.program, self.bound, self.parties, self.firms = program, bound, parties, firms

    def keys_of(self, premises: int, roles: Sequence[Role]) -> tuple[str, ...]:
        found = [key for role in roles if (key := self._key(premises, role))]
        return tuple(dict.fromkeys(found)) or (self.bound[premises],)

    def _key(self, premises: int, role: Role) -> str:
        if role in PARTY:
            party = self.parties.get((premises, PARTY[role]))
            if party is None:
                return "" if role in OPTIONAL else self.bound[premises]
            return f"party:{party}"
        return {
            Role.OCCUPANT: f"{OCCUPANT}:{premises}",
            Role.SERVICE_ADDRESS: f"{SERVICE}:{premises}",
            Role.FIRE_AUTHORITY: f"{FIRE}:{self.program.pk}",
            Role.FIRM: f"{FIRM}:{self.firms.get(premises, '')}",
        }.get(role, self.bound[premises])


def _parties(premises_ids: Sequence[int], *, today: date) -> dict[tuple[int, str], int]:
    """The first party of each role at these premises."""
    found: dict[tuple[int, str], int] = {}
    for batch in in_batches(dict.fromkeys(premises_ids)):
        rows = current_roles(today).filter(premises__in=batch)
        for premises_id, role, party_id in rows.values_list("premises_id", "role", "party_id"):
            found.setdefault((premises_id, role), party_id)
    return found


def _firms(premises_ids: Sequence[int]) -> dict[int, int]:
    """The testing company assigned to each premises, the newest where there are several."""
    rows = Assignment.objects.filter(premises__in=premises_ids, ended_on__isnull=True)
    return dict(rows.order_by("made_on", "pk").values_list("premises_id", "firm_id"))


def _once_for_an_address(
    found: dict[Wanted, tuple[str, ...]],
) -> dict[Wanted, tuple[str, ...]]:
    """Leave out the letter to a service address that another recipient's letter goes to anyway."""
    double = {w: keys for w, keys in found.items() if Role.SERVICE_ADDRESS in w[1]}
    if not double:
        return found
    mailing = recipients({k for keys in double.values() for k in keys if k.startswith("party:")})
    rows = Premises.objects.filter(pk__in=[premises for premises, _ in double])
    places = {pk: (street, zip_) for pk, street, zip_ in rows.values_list("pk", "address", "zip")}
    for wanted, keys in double.items():
        here = _plain(*places[wanted[0]])
        sent = {_plain(m.mailing.street, m.mailing.zip) for k in keys if (m := mailing.get(k))}
        if here in sent:
            found[wanted] = tuple(k for k in keys if not k.startswith(f"{SERVICE}:"))
    return found


def _plain(street: str, zip_: str) -> str:
    """An address for comparing: its letters and figures, and the first five of its ZIP."""
    return "".join(filter(str.isalnum, street)).lower() + zip_.strip()[:5]


def _at_places(keys: Sequence[str]) -> dict[str, Recipient]:
    """Whoever is at the service address: the occupant, or the responsible party by name there."""
    ids = [_id_of(key) for key in keys]
    places = Premises.objects.in_bulk(ids)
    named = _names_of(ids) if any(key.startswith(SERVICE) for key in keys) else {}
    found: dict[str, Recipient] = {}
    for key in keys:
        place = places[_id_of(key)]
        is_occupant = key.startswith(OCCUPANT)
        name = "Occupant" if is_occupant else named.get(place.pk, "Owner or occupant")
        found[key] = Recipient(
            key=key,
            party=None,
            mailing=MailingAddress(
                name=name,
                street=place.address,
                city=place.city,
                state=place.state,
                zip=place.zip,
            ),
            language=place.language or "en",
        )
    return found


def _names_of(premises_ids: Sequence[int]) -> dict[int, str]:
    """The name of the customer, else of the owner, of each premises as it is now."""
    found: dict[int, str] = {}
    for role in (PartyRole.CUSTOMER, PartyRole.OWNER):
        rows = PremisesParty.objects.filter(
            premises__in=premises_ids, role=role, until_on__isnull=True
        )
        for pk, name in rows.order_by("pk").values_list("premises_id", "party__name"):
            found.setdefault(pk, name)
    return found


def _of_firm(firm: Firm) -> Recipient:
    """A testing company at its postal address; without one its letter waits for a person."""
    return Recipient(
        key=f"{FIRM}:{firm.pk}",
        party=None,
        mailing=MailingAddress(
            name=firm.name, street=firm.address, city=firm.city, state=firm.state, zip=firm.zip
        ),
        language=firm.language,
    )


def _id_of(key: str) -> int:
    return int(key.partition(":")[2] or 0)
