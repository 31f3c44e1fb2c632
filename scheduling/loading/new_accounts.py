"""Accounts that a customer file brings and nobody knew: premises with use, hazard and service."""

from collections.abc import Sequence

from registry.changes import Hand
from registry.domain.customer_differences import owner_said
from registry.domain.customer_rows import StatedCustomer
from registry.domain.identity import party_key
from registry.domain.kinds import Hazard, PartyRole
from registry.domain.statements import StatedOwner
from registry.models import (
    HazardAssessment,
    LoadBatch,
    Party,
    Premises,
    PremisesParty,
    Program,
    ServiceConnection,
)
from registry.queries.parties import parties_by_key
from scheduling.loading.known_accounts import key_of

FINDING = "As stated in a customer file; the day is the load's."


def bring_in_accounts(
    *, program: Program, rows: Sequence[StatedCustomer], batch: LoadBatch, hand: Hand
) -> dict[int, Premises]:
    """Write the premises of these rows with their people; return them by row number.

    Rows of one account and address are one premises, each with its service.
    """
    first: dict[str, StatedCustomer] = {}
    for row in rows:
        first.setdefault(key_of(row), row)
    sites = {key: _premises(row, key=key, batch=batch) for key, row in first.items()}
    Premises.objects.bulk_create(sites.values(), batch_size=500)
    site_of = {row.row: sites[key_of(row)] for row in rows}
    _name_people(program=program, rows=first, sites=sites)
    _connect(rows=rows, site_of=site_of, batch=batch)
    HazardAssessment.objects.bulk_create(
        (
            HazardAssessment(
                premises=site_of[row.row],
                assessed_on=batch.as_of,
                hazard=row.hazard,
                finding=FINDING,
                is_stated=True,
                recorded_at=hand.at,
                by=hand.by,
            )
            for row in first.values()
            if row.hazard is not Hazard.NOT_ASSESSED
        ),
        batch_size=500,
    )
    return site_of


def _premises(row: StatedCustomer, *, key: str, batch: LoadBatch) -> Premises:
    site = row.site
    return Premises(
        program=batch.program,
        key=key,
        created_at=batch.at,
        account=site.account,
        name=site.name,
        address=site.address,
        city=site.city,
        state=site.state,
        zip=site.zip,
        use=site.use,
        phone=site.phone,
        lat=site.position.lat,
        lon=site.position.lon,
    )


def _name_people(
    *, program: Program, rows: dict[str, StatedCustomer], sites: dict[str, Premises]
) -> None:
    owners = {key: owner_said(row) for key, row in rows.items() if owner_said(row).name}
    keys = {key: key_of_owner(owner) for key, owner in owners.items()}
    parties = parties_by_key(program)
    fresh: dict[str, Party] = {}
    for key, owner in owners.items():
        if keys[key] not in parties and keys[key] not in fresh:
            fresh[keys[key]] = Party(program=program, key=keys[key], **party_values(owner))
    Party.objects.bulk_create(fresh.values(), batch_size=500)
    parties |= fresh
    PremisesParty.objects.bulk_create(
        (
            PremisesParty(
                premises=sites[key],
                party=parties[keys[key]],
                role=PartyRole.OWNER if rows[key].owner.name else PartyRole.CUSTOMER,
            )
            for key in owners
        ),
        batch_size=500,
    )


def key_of_owner(owner: StatedOwner) -> str:
    """The digest by which a stated owner is known."""
    return party_key(
        name=owner.name,
        address=owner.address,
        city=owner.city,
        state=owner.state,
        zip_code=owner.zip,
    )


def party_values(owner: StatedOwner) -> dict[str, str]:
    """A stated owner as the columns of a party."""
    names = ("name", "address", "city", "state", "zip", "email", "phone")
    return {name: getattr(owner, name) for name in names}


def _connect(
    *, rows: Sequence[StatedCustomer], site_of: dict[int, Premises], batch: LoadBatch
) -> None:
    kinds = {(site_of[row.row].pk, row.service.value): site_of[row.row] for row in rows}
    ServiceConnection.objects.bulk_create(
        (
            ServiceConnection(premises=site, kind=kind, created_at=batch.at)
            for (_, kind), site in kinds.items()
        ),
        batch_size=500,
    )
