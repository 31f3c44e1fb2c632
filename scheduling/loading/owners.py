"""Owners of a file: parties by name and mailing address, and who owns which premises since when."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from django.db.models import F as Column

from registry.domain.cells import clean
from registry.domain.fields import RegistryField as F
from registry.domain.identity import party_key
from registry.domain.kinds import PartyRole
from registry.domain.statements import StatedOwner, StatedRow
from registry.models import Party, Premises, PremisesParty
from scheduling.loading.landing import Landing
from scheduling.models import Obligation
from scheduling.queries.where import at_premises

_FIELDS = ("name", "address", "city", "state", "zip", "email", "phone")


@dataclass(frozen=True, kw_only=True)
class OwnerChange:
    """A premises that passes from one owner to another with this load."""

    premises: Premises
    before: PremisesParty
    after: Party


def land_owners(*, landing: Landing, site_of: Mapping[int, Premises]) -> None:
    """Write the owners the rows state. A change of owner is dated and restarts lawful notices."""
    keys = {row.row: _key(row.owner) for row in landing.rows if row.owner.name}
    parties = _parties(landing=landing, keys=keys)
    first_roles: list[PremisesParty] = []
    handovers: list[OwnerChange] = []
    for rows in _rows_by_site(rows=landing.rows, site_of=site_of, keys=keys):
        first = rows[0]
        site, party = site_of[first.row], parties[keys[first.row]]
        _tell_contradictions(rows=rows, keys=keys, landing=landing)
        role = landing.stored.owners.get(site.pk)
        if role is not None and role.party_id == party.pk:
            continue
        if role is None:
            first_roles.append(PremisesParty(premises=site, party=party, role=PartyRole.OWNER))
        else:
            handovers.append(OwnerChange(premises=site, before=role, after=party))
        for row in rows:
            if keys[row.row] == party.key:
                before = _shown(role.party) if role else ""
                landing.note(row=row.row, name="owner", before=before, after=_shown(party))
    _hand_over(landing=landing, handovers=handovers)
    PremisesParty.objects.bulk_create(first_roles, batch_size=500)


def _key(owner: StatedOwner) -> str:
    return party_key(
        name=owner.name,
        address=owner.address,
        city=owner.city,
        state=owner.state,
        zip_code=owner.zip,
    )


def _shown(party: Party) -> str:
    return ", ".join(part for part in (party.name, party.address, party.city) if part)


def _rows_by_site(
    *, rows: Sequence[StatedRow], site_of: Mapping[int, Premises], keys: Mapping[int, str]
) -> list[list[StatedRow]]:
    """The rows that name an owner, together for each premises, in the order of the file."""
    together: dict[int, list[StatedRow]] = {}
    for row in rows:
        if row.row in keys:
            together.setdefault(site_of[row.row].pk, []).append(row)
    return list(together.values())


def _tell_contradictions(
    *, rows: Sequence[StatedRow], keys: Mapping[int, str], landing: Landing
) -> None:
    first = rows[0]
    for row in rows[1:]:
        if keys[row.row] != keys[first.row]:
            landing.warn(
                row=row,
                name=F.OWNER_NAME,
                message=f"Row {first.row} names {first.owner.name!r}, {first.owner.address!r} as "
                "owner of the same premises, which is taken; make the rows agree.",
            )


def _parties(*, landing: Landing, keys: Mapping[int, str]) -> dict[str, Party]:
    """All parties the rows name, by key, written with what the rows say of them together."""
    rows_of: dict[str, list[StatedRow]] = {}
    for row in landing.rows:
        if row.row in keys:
            rows_of.setdefault(keys[row.row], []).append(row)
    fresh, moved = [], []
    for key, rows in rows_of.items():
        said = {
            name: next((v for row in rows if (v := getattr(row.owner, name))), "")
            for name in _FIELDS
        }
        party = landing.stored.parties.get(key)
        if party is None:
            party = Party(program=landing.program, key=key, **said)
            landing.stored.parties[key] = party
            fresh.append(party)
        elif party.key == key and _update(party=party, said=said, rows=rows, landing=landing):
            moved.append(party)
    Party.objects.bulk_create(fresh, batch_size=500)
    Party.objects.bulk_update(moved, _FIELDS, batch_size=200)
    return landing.stored.parties


def _update(
    *, party: Party, said: Mapping[str, str], rows: Sequence[StatedRow], landing: Landing
) -> bool:
    """Bring a stored party to what the rows say; blanks leave it as it is."""
    changed = False
    for name, value in said.items():
        before = clean(getattr(party, name))
        if not value or value == before:
            continue
        changed = True
        setattr(party, name, value)
        for row in rows:
            if getattr(row.owner, name) == value:
                landing.note(row=row.row, name=f"owner {name}", before=before, after=value)
    return changed


def _hand_over(*, landing: Landing, handovers: Sequence[OwnerChange]) -> None:
    if not handovers:
        return
    as_of = landing.hand.as_of
    PremisesParty.objects.filter(pk__in=[change.before.pk for change in handovers]).update(
        until_on=as_of
    )
    PremisesParty.objects.bulk_create(
        PremisesParty(
            premises=change.premises, party=change.after, role=PartyRole.OWNER, since_on=as_of
        )
        for change in handovers
    )
    sites = {change.premises.pk for change in handovers}
    Obligation.objects.filter(
        at_premises(sites), opened_on__isnull=False, closed_on__isnull=True
    ).update(lawful_since=as_of, next_action_on=Column("opened_on"))
    for site in sites:
        landing.touched |= landing.stored.at_premises.get(site, set())
