"""A person's decision for one subject or a group: kept as one, ended as one, looked at again.

Its members are assemblies, and services and premises with what they owe themselves.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import replace
from datetime import date
from typing import Final

from django.db import transaction

from registry.changes import Hand, record_change
from registry.models import Program
from scheduling.actions.by_hand.carrying import carry_on
from scheduling.actions.by_hand.member_facts import (
    bring_anew,
    in_writes,
    live_members,
    record_for,
    withdraw_theirs,
    write_members,
)
from scheduling.actions.by_hand.rows import RefusedChangeError
from scheduling.domain.decisions import Decision as Told
from scheduling.domain.decisions import DecisionError, Subject, decision_faults
from scheduling.domain.facts import FactKind
from scheduling.models import Decision, DecisionMember

MOST_AT_ONCE: Final = 2_000
"""Members whose dates follow at once; those of a larger group follow in chunks."""

ENDED_BY: Final = {
    FactKind.IDLED: FactKind.RESUMED,
    FactKind.EXEMPTED: FactKind.INCLUDED,
    FactKind.STOPPED: FactKind.RESTARTED,
}
"""The fact that ends each; an extension and a hold end by a nearer last day."""

_SHORTENED: Final = "Ended early, with the whole decision."
_AT_ONCE: Final = "It ended the day it began."
_LATER: Final = "Looked at; another review day."


@transaction.atomic
def decide(*, program: Program, told: Told, chosen_by: str, today: date, hand: Hand) -> Decision:
    """Record a decision for its members (words of `Subject`: `12` is an assembly), all or none.

    Their dates follow at once; those of a large group are carried on (`carrying`), and those of a
    hold that begins on a day to come follow on that day. Raises DecisionError with every fault by
    its field; then nothing is kept.
    """
    _refuse(told, today=today)
    subjects = [Subject.read(member) for member in told.members]
    row = Decision.objects.create(
        program=program,
        kind=told.kind.value,
        name=told.group.strip()[:200],
        chosen_by=chosen_by[:300],
        on=told.on,
        until=told.until,
        reason=told.reason.strip()[:500],
        approved_by=told.approved_by.strip()[:150],
        made_at=hand.at,
        made_by=hand.by,
    )
    write_members(row, subjects=subjects, today=today, hand=hand)
    _follow(row, begins=row.on, today=today)
    _note(row, hand=hand, before={}, after={**_said(row), **_counted(subjects)})
    return row


def _follow(row: Decision, *, begins: date, today: date) -> None:
    """Let the dates of its members follow: at once where they are few and its day has come."""
    row.replay_on, row.replayed_to = max(begins, today), 0
    row.save(update_fields=["replay_on", "replayed_to"])
    if row.members.count() <= MOST_AT_ONCE:
        carry_on(row, today=today)
        row.refresh_from_db()


@transaction.atomic
def end_decision(*, decision: Decision, on: date, today: date, hand: Hand) -> int:
    """End a decision as a whole on a day, and replay those in it; return how many it freed.

    An extension or a hold gets `on` as its last day; an idle time, an exemption and a stopped
    clock end by a fact of that day; ended on the day it began, it is gone. A clock that something
    else stops too goes on standing. A member whose own fact was withdrawn is left alone.
    Raises RefusedChangeError.
    """
    row = Decision.objects.select_for_update().get(pk=decision.pk)
    _refuse_end(row, on=on, today=today)
    members = live_members(row)
    ended_by = ENDED_BY.get(FactKind(row.kind))
    if ended_by is not None and on <= row.on:
        withdraw_theirs(row, members=members, hand=replace(hand, reason=hand.reason or _AT_ONCE))
    elif ended_by is None:
        _shorten(row, members=members, on=on, today=today, hand=hand)
    else:
        for some in in_writes(members):
            subjects = [member.subject for member in some]
            record_for(row, subjects=subjects, kind=ended_by, on=on, until=None,
                       today=today, hand=hand)  # fmt: skip
    row.ended_on, row.ended_at = on, hand.at
    row.ended_by, row.ended_reason = hand.by, hand.reason[:500]
    row.save(update_fields=["ended_on", "ended_at", "ended_by", "ended_reason"])
    _note(row, hand=hand, before={"ended_on": None}, after={"ended_on": on.isoformat()})
    is_left = on > row.on  # what is taken back on the day it begins, or before, is gone
    _follow(row, begins=row.on if is_left else today, today=today)
    return len(members)


@transaction.atomic
def look_again(*, decision: Decision, until: date, today: date, hand: Hand) -> None:
    """Give an idle time or an exemption another review day. Raises RefusedChangeError."""
    row = Decision.objects.select_for_update().get(pk=decision.pk)
    if row.ended_at is not None:
        raise RefusedChangeError(field="until", message="It has ended. Decide it anew.")
    if FactKind(row.kind) not in (FactKind.IDLED, FactKind.EXEMPTED):
        raise RefusedChangeError(field="until", message="Only an idle time or an exemption has one")
    if until <= today:
        raise RefusedChangeError(field="until", message=f"Choose a day after {today}.")
    members, before = live_members(row), row.until
    _renew(row, members=members, until=until, today=today, hand=hand, why=_LATER)
    row.until = until
    row.save(update_fields=["until"])
    _note(row, hand=hand, before={"until": str(before)}, after={"until": str(until)})
    _follow(row, begins=row.on, today=today)


def _refuse(told: Told, *, today: date) -> None:
    faults = decision_faults(told)
    if "on" not in faults and told.on > today and told.kind is not FactKind.HELD:
        faults["on"] = (
            f"It begins on {told.on}, after {today}: record it on that day. Only a hold may begin"
            " on a day to come."
        )
    if faults:
        raise DecisionError(faults)


def _refuse_end(row: Decision, *, on: date, today: date) -> None:
    said = ""
    if row.ended_at is not None:
        said = "It has ended already."
    elif on < row.on <= today:
        said = f"It began on {row.on}: choose that day or a later one."
    elif FactKind(row.kind) in ENDED_BY and on > today:
        said = f"{on} has not come yet: end it on that day."
    elif FactKind(row.kind) not in ENDED_BY and row.until is not None and on >= row.until:
        said = f"It ends by itself on {row.until}: choose an earlier day."
    if said:
        raise RefusedChangeError(field="on", message=said)


def _shorten(
    row: Decision, *, members: Sequence[DecisionMember], on: date, today: date, hand: Hand
) -> None:
    """End an extension or a hold on an earlier day; one that then moves nothing is only gone."""
    gone = hand.reason or _SHORTENED
    withdraw_theirs(row, members=members, hand=replace(hand, reason=gone))
    if on <= row.on:
        return
    kept = [
        member
        for member in members
        if row.kind != FactKind.EXTENDED or (member.due_before or date.min) < on
    ]
    bring_anew(row, members=kept, until=on, today=today, hand=replace(hand, reason=row.reason))


def _renew(
    row: Decision,
    *,
    members: Sequence[DecisionMember],
    until: date,
    today: date,
    hand: Hand,
    why: str,
) -> None:
    """Withdraw the facts of a decision and record them with another day."""
    withdraw_theirs(row, members=members, hand=replace(hand, reason=hand.reason or why))
    bring_anew(
        row, members=members, until=until, today=today, hand=replace(hand, reason=row.reason)
    )


def _said(row: Decision) -> dict[str, object]:
    return {
        "kind": row.kind,
        "group": row.name,
        "on": row.on.isoformat(),
        "until": row.until.isoformat() if row.until else None,
        "approved_by": row.approved_by,
    }


def _counted(subjects: Sequence[Subject]) -> dict[str, int]:
    """Return how many of each kind are in it, in the words of a change."""
    words = {"assembly": "assemblies", "connection": "services", "premises": "premises"}
    counted = Counter(subject.of for subject in subjects)
    return {said: counted[of] for of, said in words.items() if counted[of]}


def _note(
    row: Decision, *, hand: Hand, before: dict[str, object], after: dict[str, object]
) -> None:
    record_change(
        hand=hand,
        what="decision",
        subject_id=row.pk,
        label=str(row),
        before=before,
        after=after,
        program=row.program,
    )
