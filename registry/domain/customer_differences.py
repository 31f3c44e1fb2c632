"""A customer file beside the registry: what one account's row says otherwise than the record."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from registry.domain.cells import clean
from registry.domain.customer_rows import StatedCustomer
from registry.domain.identity import account_key, address_key, folded
from registry.domain.proposals import Difference, ProposalKind
from registry.domain.statements import StatedOwner

_MAIL = ("address", "city", "state", "zip")
_CONTACT = ("email", "phone")


@dataclass(frozen=True, slots=True, kw_only=True)
class KnownParty:
    """A party on record, as far as a customer file can speak of it."""

    id: int
    name: str
    address: str = ""
    city: str = ""
    state: str = ""
    zip: str = ""
    email: str = ""
    phone: str = ""
    old_names: tuple[str, ...] = ()
    """Names it had before a merge: billing may go on writing them."""


@dataclass(frozen=True, slots=True, kw_only=True)
class KnownAccount:
    """A premises on record with its owner; `is_closed` says that its account was closed."""

    id: int
    account: str
    name: str
    address: str
    city: str = ""
    state: str = ""
    zip: str = ""
    use: str = ""
    is_closed: bool = False
    owner: KnownParty | None = None


def differences(*, said: StatedCustomer, known: KnownAccount) -> list[Difference]:
    """What a row says otherwise, gravest first; spelling alone is no difference.

    Blank cells say nothing. A new owner's address is part of the new owner, so that no change
    of address stands beside it.
    """
    found = [
        *_owner(said=said, known=known),
        *_state(said=said, known=known),
        *_place(said=said, known=known),
        *_account(said=said, known=known),
        *_use(said=said, known=known),
    ]
    return sorted(found, key=lambda one: list(ProposalKind).index(one.kind))


def owner_said(said: StatedCustomer) -> StatedOwner:
    """The owner of a row; without an owner's name, the customer of the account."""
    owner = said.owner
    if owner.name or not said.site.name:
        return owner
    return StatedOwner(
        name=said.site.name,
        address=owner.address,
        city=owner.city,
        state=owner.state,
        zip=owner.zip,
        email=owner.email,
        phone=owner.phone,
    )


def missing(*, known: KnownAccount) -> Difference:
    """The account of a premises that a whole file no longer names."""
    return Difference(
        kind=ProposalKind.CLOSED_ACCOUNT,
        subject=f"premises:{known.id}",
        premises_id=known.id,
        before={"account": known.account, "state": "open"},
        after={"account": known.account, "state": "closed"},
        note="The file no longer names this account.",
    )


def _owner(*, said: StatedCustomer, known: KnownAccount) -> Iterator[Difference]:
    owner, kept = owner_said(said), known.owner
    if not owner.name:
        return
    if kept is not None and folded(owner.name) in {folded(name) for name in kept.old_names}:
        return
    if kept is None or folded(owner.name) != folded(kept.name):
        customer_alone = not said.owner.name
        if not (customer_alone and folded(owner.name) == folded(known.name)):
            yield _new_owner(said=said, owner=owner, known=known)
        return
    mail = _changed(owner, kept, _MAIL)
    if owner.address and mail:
        yield _of_party(ProposalKind.CHANGED_ADDRESS, mail, said=said, known=known, party=kept)
    contact = _changed(owner, kept, _CONTACT)
    if contact:
        yield _of_party(ProposalKind.CHANGED_CONTACT, contact, said=said, known=known, party=kept)


def _new_owner(*, said: StatedCustomer, owner: StatedOwner, known: KnownAccount) -> Difference:
    kept = known.owner
    names = ("name", *_MAIL, *_CONTACT)
    return Difference(
        kind=ProposalKind.NEW_OWNER,
        subject=f"premises:{known.id}",
        premises_id=known.id,
        before={name: clean(getattr(kept, name)) if kept else "" for name in names},
        after={name: getattr(owner, name) for name in names},
        row=said.row,
    )


def _changed(
    owner: StatedOwner, kept: KnownParty, names: tuple[str, ...]
) -> dict[str, tuple[str, str]]:
    """The fields that a row says otherwise; blank says nothing."""
    return {
        name: (clean(getattr(kept, name)), new)
        for name in names
        if (new := getattr(owner, name)) and not _same(name, new, getattr(kept, name))
    }


def _same(name: str, one: str, other: str) -> bool:
    if name == "address":
        return address_key(one) == address_key(other)
    if name == "zip":
        return folded(one)[:5] == folded(other)[:5]
    if name == "phone":
        return _figures(one) == _figures(other)
    return folded(one) == folded(other)


def _figures(phone: str) -> str:
    return "".join(sign for sign in phone if sign.isdecimal())[-10:]


def _of_party(
    kind: ProposalKind,
    changed: dict[str, tuple[str, str]],
    *,
    said: StatedCustomer,
    known: KnownAccount,
    party: KnownParty,
) -> Difference:
    return Difference(
        kind=kind,
        subject=f"party:{party.id}",
        premises_id=known.id,
        before={name: before for name, (before, _) in changed.items()},
        after={name: after for name, (_, after) in changed.items()},
        row=said.row,
    )


def _of_premises(
    kind: ProposalKind,
    *,
    said: StatedCustomer,
    known: KnownAccount,
    before: dict[str, str],
    after: dict[str, str],
    note: str = "",
) -> Difference:
    return Difference(
        kind=kind,
        subject=f"premises:{known.id}",
        premises_id=known.id,
        before=before,
        after=after,
        row=said.row,
        note=note,
    )


def _state(*, said: StatedCustomer, known: KnownAccount) -> Iterator[Difference]:
    if said.is_closed is None or said.is_closed == known.is_closed:
        return
    kind = ProposalKind.CLOSED_ACCOUNT if said.is_closed else ProposalKind.REOPENED_ACCOUNT
    words = {True: "closed", False: "open"}
    yield _of_premises(
        kind,
        said=said,
        known=known,
        before={"account": known.account, "state": words[known.is_closed]},
        after={"account": known.account, "state": words[said.is_closed]},
    )


def _place(*, said: StatedCustomer, known: KnownAccount) -> Iterator[Difference]:
    site = said.site
    if not site.address or address_key(site.address) == address_key(known.address):
        return
    names = ("address", "city", "state", "zip")
    yield _of_premises(
        ProposalKind.MOVED_PREMISES,
        said=said,
        known=known,
        before={name: clean(getattr(known, name)) for name in names},
        after={name: getattr(site, name) or clean(getattr(known, name)) for name in names},
        note="Accept where the same site has another address. A customer who moved away leaves "
        "the assemblies behind.",
    )


def _account(*, said: StatedCustomer, known: KnownAccount) -> Iterator[Difference]:
    account = said.site.account
    if not account or account_key(account) == account_key(known.account):
        return
    yield _of_premises(
        ProposalKind.CHANGED_ACCOUNT,
        said=said,
        known=known,
        before={"account": clean(known.account)},
        after={"account": account},
    )


def _use(*, said: StatedCustomer, known: KnownAccount) -> Iterator[Difference]:
    use = said.site.use
    if not use or folded(use) == folded(known.use):
        return
    yield _of_premises(
        ProposalKind.CHANGED_USE,
        said=said,
        known=known,
        before={"use": clean(known.use)},
        after={"use": use},
        note="Another use may be another hazard: assess it anew.",
    )
