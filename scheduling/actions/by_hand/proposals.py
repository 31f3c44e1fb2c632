"""Proposals of a customer file, accepted or refused by a person; nothing else overwrites."""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping
from dataclasses import dataclass, field
from datetime import date

from django.db import transaction

from registry.changes import Hand
from registry.domain.cells import clean
from registry.domain.identity import party_key, premises_key
from registry.domain.kinds import PartyRole
from registry.domain.proposals import ProposalKind, SettledHow
from registry.models import Assembly, Party, Premises, PremisesParty, Program, Proposal, Question
from registry.queries.parties import parties_by_key
from scheduling.actions.by_hand.premises import name_party
from scheduling.actions.by_hand.rows import RefusedChangeError, keep_once
from scheduling.actions.by_hand.surveys import follow_premises
from scheduling.actions.by_hand.uses import keep_premises_from

_MAIL = ("address", "city", "state", "zip")


@dataclass(slots=True)
class SettledProposals:
    """What became of the chosen ones: how many went through, and why the others wait."""

    done: int = 0
    refusals: dict[int, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Acceptance:
    """One proposal being accepted: on which day, by whose hand."""

    proposal: Proposal
    premises: Premises
    today: date
    hand: Hand

    @property
    def program(self) -> Program:
        return self.premises.program


def accept_proposals(
    *, program: Program, proposal_ids: Collection[int], today: date, hand: Hand
) -> SettledProposals:
    """Accept waiting proposals, each by itself; what is open at a new owner's premises replays.

    One whose other side has changed meanwhile, or which would make two rows one, is told.
    """
    settled = SettledProposals()
    touched: set[int] = set()
    for pk in sorted(set(proposal_ids)):
        try:
            with transaction.atomic():
                premises_id = _accept(pk, program=program, today=today, hand=hand)
        except RefusedChangeError as refusal:
            settled.refusals[pk] = refusal.message
            continue
        if premises_id is not None:
            settled.done += 1
            touched.add(premises_id)
    if touched:
        follow_premises(program=program, premises_ids=touched, today=today)
    return settled


def refuse_proposals(
    *, program: Program, proposal_ids: Collection[int], hand: Hand
) -> SettledProposals:
    """Refuse waiting proposals; the same difference is not proposed again."""
    waiting = Proposal.objects.filter(program=program, pk__in=proposal_ids, settled_at__isnull=True)
    done = waiting.update(
        settled_at=hand.at,
        settled_by=hand.by,
        settled_how=SettledHow.REFUSED,
        reason=hand.reason[:500],
    )
    return SettledProposals(done=done)


def _accept(pk: int, *, program: Program, today: date, hand: Hand) -> int | None:
    waiting = Proposal.objects.select_for_update().filter(
        program=program, pk=pk, settled_at__isnull=True
    )
    proposal = waiting.first()
    if proposal is None:
        return None
    premises = Premises.objects.select_related("program").get(pk=proposal.premises_id)
    reason = f"Customer file, {proposal.kind}. {hand.reason}".strip()
    act = _Acceptance(
        proposal=proposal,
        premises=premises,
        today=today,
        hand=Hand(by=hand.by, at=hand.at, reason=reason),
    )
    _ACTS[ProposalKind(proposal.kind)](act)
    waiting.update(
        settled_at=hand.at,
        settled_by=hand.by,
        settled_how=SettledHow.ACCEPTED,
        reason=hand.reason[:500],
    )
    return premises.pk


def _check_before(now: Mapping[str, str], act: _Acceptance) -> None:
    """Nothing is overwritten unseen: what the person saw must still stand."""
    before = {name: act.proposal.before.get(name, "") for name in now}
    if dict(now) != before:
        raise RefusedChangeError(
            field="",
            message="The record has changed since it was compared. Load the customer file again.",
        )


def _new_owner(act: _Acceptance) -> None:
    role = _speaking_role(act.premises)
    before = role.party if role else None
    names = tuple(act.proposal.after)
    _check_before({name: clean(getattr(before, name)) if before else "" for name in names}, act)
    after = act.proposal.after
    key = party_key(
        name=after["name"],
        address=after["address"],
        city=after["city"],
        state=after["state"],
        zip_code=after["zip"],
    )
    party = parties_by_key(act.program).get(key)
    if party is None:
        party = keep_once(
            Party(program=act.program),
            values={**after, "key": key},
            hand=act.hand,
            program=act.program,
            refusal=_taken("A party with this name and address is on record already."),
        )
    name_party(
        premises=act.premises,
        role=PartyRole(role.role) if role else PartyRole.OWNER,
        party=party,
        since_on=act.today,
        hand=act.hand,
    )


def _speaking_role(premises: Premises) -> PremisesParty | None:
    """The owner, and where none is named the customer: of whom a customer file speaks."""
    roles = PremisesParty.objects.filter(premises=premises, until_on__isnull=True)
    owners = roles.filter(role__in=(PartyRole.OWNER, PartyRole.CUSTOMER)).select_related("party")
    return next(iter(sorted(owners, key=lambda one: one.role != PartyRole.OWNER)), None)


def _party(act: _Acceptance) -> None:
    assert act.proposal.party_id is not None
    party = Party.objects.select_for_update().get(pk=act.proposal.party_id)
    _check_before({name: clean(getattr(party, name)) for name in act.proposal.after}, act)
    values = dict(act.proposal.after)
    if set(values) & set(_MAIL):
        mail = {name: values.get(name, getattr(party, name)) for name in _MAIL}
        values["key"] = party_key(
            name=party.name,
            address=mail["address"],
            city=mail["city"],
            state=mail["state"],
            zip_code=mail["zip"],
        )
    keep_once(
        party,
        values=values,
        hand=act.hand,
        program=act.program,
        refusal=_taken(
            "Another party has this name and mailing address. Merge the two, then load again."
        ),
    )


def _premises(act: _Acceptance) -> None:
    """Write what the file says of the premises, and its key with it."""
    premises = act.premises
    _check_before({name: clean(getattr(premises, name)) for name in act.proposal.after}, act)
    values: dict[str, object] = dict(act.proposal.after)
    if "address" in values:
        values |= {"lat": None, "lon": None}
    account, address, city = (
        str(values.get(name, getattr(premises, name))) for name in ("account", "address", "city")
    )
    values["key"] = premises_key(account=account, address=address, city=city)
    keep_once(
        premises,
        values=values,
        hand=act.hand,
        program=act.program,
        refusal=_taken("Another premises has this account and address. Mend one of them first."),
    )


def _use(act: _Acceptance) -> None:
    """Take another use from today on; where none was on record, the file tells what it was."""
    _check_before({"use": clean(act.premises.use)}, act)
    keep_premises_from(
        program=act.program,
        premises=act.premises,
        values=_as_kept(act.premises) | act.proposal.after,
        use_since=act.today if act.premises.use else None,
        today=act.today,
        hand=act.hand,
    )


def _as_kept(premises: Premises) -> dict[str, str]:
    return {name: getattr(premises, name) for name in ("account", "address", "city")}


def _close(act: _Acceptance) -> None:
    """Note the closed account; whether the assemblies stand, idle or are gone, a person says."""
    _keep_closed(act, closed_on=act.today)
    standing = Assembly.objects.filter(premises=act.premises, state__removed_on__isnull=True)
    if not standing.exists():
        return
    Question.objects.get_or_create(
        program=act.program,
        key=f"closed account:{act.premises.pk}:{act.today}",
        defaults={
            "kind": "closed account",
            "premises": act.premises,
            "text": f"Account {act.premises.account} is closed. Do its assemblies stand, are they "
            "out of use, or removed? Record the fact on each.",
            "raised_on": act.today,
        },
    )


def _reopen(act: _Acceptance) -> None:
    _keep_closed(act, closed_on=None)


def _keep_closed(act: _Acceptance, *, closed_on: date | None) -> None:
    keep_once(
        act.premises,
        values={"account_closed_on": closed_on},
        hand=act.hand,
        program=act.program,
        refusal=_taken("The account cannot be kept so."),
    )


def _taken(message: str) -> RefusedChangeError:
    return RefusedChangeError(field="", message=message)


_ACTS: dict[ProposalKind, Callable[[_Acceptance], None]] = {
    ProposalKind.NEW_OWNER: _new_owner,
    ProposalKind.CLOSED_ACCOUNT: _close,
    ProposalKind.REOPENED_ACCOUNT: _reopen,
    ProposalKind.MOVED_PREMISES: _premises,
    ProposalKind.CHANGED_ACCOUNT: _premises,
    ProposalKind.CHANGED_ADDRESS: _party,
    ProposalKind.CHANGED_CONTACT: _party,
    ProposalKind.CHANGED_USE: _use,
}
