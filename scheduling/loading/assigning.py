"""The testing company that a sheet gives a premises to; what a person did about it stays."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field

from django.db.models import Q

from registry.actions.assignments import assign_premises
from registry.changes import Hand
from registry.domain.assigned import HowAssigned
from registry.domain.fields import RegistryField as F
from registry.domain.identity import firm_key
from registry.domain.statements import StatedRow
from registry.models import Assignment, Firm, Premises
from scheduling.loading.landing import Landing

_NAMED = 6
_AT_ONCE = 500


@dataclass(kw_only=True)
class _Wanted:
    """A premises, the company its rows name, and the rows that name it."""

    premises: Premises
    firm: Firm
    rows: list[StatedRow] = field(default_factory=list)


@dataclass(kw_only=True)
class _Held:
    """What is on record of a premises: the running assignment, and who had it before."""

    running: Assignment | None = None
    before: set[int] = field(default_factory=set)


def land_assignments(*, landing: Landing, site_of: Mapping[int, Premises]) -> None:
    """Give premises to the companies that rows name; blanks leave what is there.

    The first row of a premises that names a company wins. A company that the program does not
    accept is told at its cell and the row lands without it. What a person assigned or took back
    stays, and is told.
    """
    if not landing.columns.brings(F.ASSIGNED_TO):
        return
    landing.assigned = 0
    wanted = _wanted(landing=landing, site_of=site_of)
    held = _held(landing, wanted)
    given: dict[Firm, list[int]] = defaultdict(list)
    for one in wanted.values():
        if _may_give(one, held=held[one.premises.pk], landing=landing):
            given[one.firm].append(one.premises.pk)
    hand = Hand(by=landing.hand.by, at=landing.hand.at, reason="Named by the spreadsheet")
    for firm, premises in given.items():
        landing.assigned += assign_premises(
            program=landing.program,
            firm=firm,
            premises=premises,
            how=HowAssigned.LOAD,
            on=landing.hand.as_of,
            hand=hand,
        )


def _wanted(*, landing: Landing, site_of: Mapping[int, Premises]) -> dict[int, _Wanted]:
    firms = _accepted(landing)
    known = _names(list(firms.values()))
    wanted: dict[int, _Wanted] = {}
    for row in landing.rows:
        name = row.site.assigned_to
        if not name:
            continue
        firm = firms.get(firm_key(name))
        if firm is None:
            landing.warn(row=row, name=F.ASSIGNED_TO, message=known)
            continue
        site = site_of[row.row]
        one = wanted.setdefault(site.pk, _Wanted(premises=site, firm=firm))
        if one.firm == firm:
            one.rows.append(row)
            continue
        landing.warn(
            row=row,
            name=F.ASSIGNED_TO,
            message=f"Another row of this premises names {one.firm.name}, which is taken; "
            "make the rows agree.",
        )
    return wanted


def _accepted(landing: Landing) -> dict[str, Firm]:
    """Companies that the program accepts on the day of the load or later, by key."""
    accepted = Q(
        approvals__program=landing.program,
        approvals__tester__isnull=True,
        approvals__gauge__isnull=True,
    ) & (Q(approvals__valid_to__isnull=True) | Q(approvals__valid_to__gte=landing.hand.as_of))
    found = Firm.objects.filter(accepted | Q(own_program=landing.program)).distinct()
    return {firm.key: firm for firm in found.order_by("name", "pk")}


def _names(firms: Sequence[Firm]) -> str:
    said = "This program accepts no testing company of that name, so nobody was assigned. "
    if not firms:
        return said + "It accepts none yet: load the testers first, then this sheet again."
    some = ", ".join(firm.name for firm in firms[:_NAMED])
    more = ", …" if len(firms) > _NAMED else ""
    return said + f"Write it as it stands on record ({some}{more}), or approve it first."


def _held(landing: Landing, premises: Collection[int]) -> dict[int, _Held]:
    """What is on record of the premises; what plans assigned does not count."""
    found: dict[int, _Held] = defaultdict(_Held)
    ids = sorted(premises)
    for start in range(0, len(ids), _AT_ONCE):
        rows = Assignment.objects.filter(
            program=landing.program, premises__in=ids[start : start + _AT_ONCE]
        ).exclude(how=HowAssigned.PLAN)
        for row in rows.select_related("firm").order_by("pk"):
            if row.ended_on is None:
                found[row.premises_id].running = row
            else:
                found[row.premises_id].before.add(row.firm_id)
    return found


def _may_give(one: _Wanted, *, held: _Held, landing: Landing) -> bool:
    running = held.running
    if running is None and one.firm.pk in held.before:
        message = (
            f"A person took this premises back from {one.firm.name}, and that stays; assign it "
            "by hand if the sheet is right, or mend the sheet."
        )
    elif running is None or running.how == HowAssigned.LOAD:
        before = running.firm.name if running else None
        if before == one.firm.name:
            return False
        for row in one.rows:
            landing.note(row=row.row, name="assigned_to", before=before, after=one.firm.name)
        return True
    elif running.firm_id == one.firm.pk:
        return False
    else:
        message = (
            f"A person assigned this premises to {running.firm.name} on {running.made_on}, and "
            "that stays; assign it by hand if the sheet is right, or mend the sheet."
        )
    for row in one.rows:
        landing.warn(row=row, name=F.ASSIGNED_TO, message=message)
    return False
