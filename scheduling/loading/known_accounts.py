"""The accounts of a program with their owners, and which of them each row of a file means."""

from collections.abc import Sequence
from dataclasses import dataclass, field

from registry.domain.customer_differences import KnownAccount, KnownParty
from registry.domain.customer_rows import StatedCustomer
from registry.domain.identity import account_key, address_key, folded, premises_key
from registry.domain.kinds import PartyRole
from registry.models import Party, Premises, PremisesParty, Program
from registry.queries.parties import old_names

_ROLES = (PartyRole.OWNER, PartyRole.CUSTOMER)
"""Whom a customer file speaks of: the owner, and where none is named the account's holder."""


@dataclass(kw_only=True)
class KnownAccounts:
    """Premises by the keys a customer file can name them by."""

    by_key: dict[str, KnownAccount] = field(default_factory=dict)
    by_account: dict[str, list[KnownAccount]] = field(default_factory=dict)
    by_address: dict[tuple[str, str], list[KnownAccount]] = field(default_factory=dict)

    def all(self) -> list[KnownAccount]:
        """Every premises, in the order they were recorded."""
        return list(self.by_key.values())

    def match(self, rows: Sequence[StatedCustomer]) -> dict[int, KnownAccount | None]:
        """Return by row number the premises meant, or None where the row brings a new account.

        By account and address; else by the account of a premises no row names exactly; else by
        the address of one whose account the file no longer names.
        """
        meant = {row.row: self.by_key.get(key_of(row)) for row in rows}
        exact = {known.id for known in meant.values() if known}
        accounts = {account_key(row.site.account) for row in rows}
        for row in rows:
            if meant[row.row] is None:
                meant[row.row] = self._of_account(row, exact=exact) or self._of_address(
                    row, exact=exact, accounts=accounts
                )
        return meant

    def _of_account(self, row: StatedCustomer, *, exact: set[int]) -> KnownAccount | None:
        here = self.by_account.get(account_key(row.site.account), []) if row.site.account else []
        if not row.site.address:
            return here[0] if len(here) == 1 else None
        free = [known for known in here if known.id not in exact]
        return free[0] if len(here) == 1 and free else None

    def _of_address(
        self, row: StatedCustomer, *, exact: set[int], accounts: set[str]
    ) -> KnownAccount | None:
        if not row.site.address:
            return None
        place = (address_key(row.site.address), folded(row.site.city))
        free = [
            known
            for known in self.by_address.get(place, [])
            if known.id not in exact and account_key(known.account) not in accounts
        ]
        return free[0] if len(free) == 1 else None


def key_of(row: StatedCustomer) -> str:
    """The digest of a row's account and address."""
    site = row.site
    return premises_key(account=site.account, address=site.address, city=site.city)


def known_accounts(program: Program) -> KnownAccounts:
    """Read every premises of a program with its owner: two queries."""
    owners: dict[int, Party] = {}
    roles = PremisesParty.objects.filter(
        premises__program=program, role__in=_ROLES, until_on__isnull=True
    ).select_related("party")
    for role in sorted(roles, key=lambda one: _ROLES.index(PartyRole(one.role))):
        owners.setdefault(role.premises_id, role.party)
    found, also = KnownAccounts(), old_names(program)
    for site in Premises.objects.filter(program=program).order_by("pk"):
        known = _known(site, owner=owners.get(site.pk), also=also)
        found.by_key[site.key] = known
        place = (address_key(site.address), folded(site.city))
        found.by_address.setdefault(place, []).append(known)
        if site.account:
            found.by_account.setdefault(account_key(site.account), []).append(known)
    return found


def _known(site: Premises, *, owner: Party | None, also: dict[int, list[str]]) -> KnownAccount:
    return KnownAccount(
        id=site.pk,
        account=site.account,
        name=site.name,
        address=site.address,
        city=site.city,
        state=site.state,
        zip=site.zip,
        use=site.use,
        is_closed=site.account_closed_on is not None,
        owner=KnownParty(
            id=owner.pk,
            name=owner.name,
            address=owner.address,
            city=owner.city,
            state=owner.state,
            zip=owner.zip,
            email=owner.email,
            phone=owner.phone,
            old_names=tuple(also.get(owner.pk, ())),
        )
        if owner
        else None,
    )
