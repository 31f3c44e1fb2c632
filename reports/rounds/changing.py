"""Planned days changed by hand: a visit promised, moved, pinned, called off, and all of it undone.

Nothing is refused because it breaks a rule of the plan: what it breaks is told in words, and the
person decides. What is refused is what was looked at in another state than it is in now.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime
from typing import Any

from django.db import transaction

from registry.changes import Hand, record_change
from registry.models import Firm, Premises, Program
from reports.models import Plan, PlanChange, Stop
from reports.queries.round_pages import newest_plan
from reports.rounds.as_planned import AsPlanned, as_planned, held_back
from reports.rounds.broken_rules import broken
from reports.rounds.day_writing import DayKey, DayWriter, put_back, shown
from reports.rounds.roads import roads_of_plan
from reports.rounds.together import move_both, put_slot
from reports.rounds.week import Horizon
from scheduling.domain.rounds.insertion import Draft
from scheduling.domain.rounds.slots import Slot, best_slots
from scheduling.domain.rounds.visits import Visit, second_key

DAYS_AHEAD = 10


class ChangeRefusedError(Exception):
    """Nothing was changed; the message is a sentence that says why and what to do."""


@dataclass(frozen=True)
class Changer:
    """Who changes which program's days: with ``firms`` only the rounds of those companies.

    With ``now`` a new visit begins no earlier than that moment of a day under way.
    """

    program: Program
    horizon: Horizon
    hand: Hand
    firms: tuple[Firm, ...] = ()
    now: datetime | None = None

    def read(self, *, more: Sequence[Premises] = ()) -> AsPlanned:
        """The days as they are planned now."""
        planned = as_planned(
            program=self.program,
            horizon=self.horizon,
            roads=roads_of_plan(newest_plan(self.program)),
            firms=self.firms,
            more=more,
        )
        at = self.hand.at
        return held_back(planned, moment=at, new_from=self.now or at)


@dataclass(frozen=True)
class Changed:
    """A change that was made, and what the changed days break, in words; empty when nothing."""

    row: PlanChange
    broken: tuple[str, ...]


def slots_for(changer: Changer, premises: Premises) -> tuple[list[Slot], AsPlanned]:
    """The best places for a visit to a premises that is in no round of these days yet.

    From a moment on, as for an urgent one, the soonest days come first.
    """
    planned = changer.read(more=[premises])
    if str(premises.pk) in planned.stops:
        return [], planned
    visit = planned.week.problem.visit_by_key[str(premises.pk)]
    is_urgent = changer.now is not None
    return best_slots(visit, draft=planned.draft, soonest_first=is_urgent), planned


@transaction.atomic
def promise_slot(
    changer: Changer, premises: Premises, *, tester_id: int, on: date, arrive: int
) -> Changed:
    """Take a slot that was offered and promise it. Raises ChangeRefusedError when it is gone."""
    writer_plan = turn_of(changer)
    slots, planned = slots_for(changer, premises)
    offered = [
        s for s in slots if (s.day.tester, s.day.day, s.arrive) == (str(tester_id), on, arrive)
    ]
    if not offered:
        raise ChangeRefusedError("The days have changed since: look at the best times again.")
    (slot,) = offered
    visit = planned.week.problem.visit_by_key[str(premises.pk)]
    days: tuple[DayKey, ...] = (slot.day.key,)
    if slot.second is None:
        planned.draft.orders.setdefault(slot.day.key, []).insert(slot.position, visit)
    else:
        put = put_slot(planned, visit, slot)
        planned, days = put.planned, put.days
    writer = DayWriter(changer.program, planned, changer.hand, writer_plan)
    for day in days:
        writer.write(day)
    second = planned.seconds.get(second_key(visit.key))
    for stop in (planned.stops[visit.key], *([second] if second else [])):
        stop.promised_at, stop.promised_by = changer.hand.at, changer.hand.by
        stop.save(update_fields=["promised_at", "promised_by"])
        writer.after[str(stop.pk)] = shown(stop)
    return change_kept(changer, writer, days, words=f"{premises} promised for {_spoken(on)}")


@transaction.atomic
def move_stop(
    changer: Changer, stop: Stop, *, tester_id: int, on: date, place: int | None, seen: int
) -> Changed:
    """Put a stop into a tester's day before the ``place``-th stop (from 1) of it.

    Without a place, where it adds least driving and breaks nothing; where nothing fits, last.

    Where two people come, both do: the second is the same as before where that can be.

    ``seen`` is the revision that the person looked at. A promised stop keeps its promise in the
    record until somebody tells the customer; the checker says that it is broken.
    """
    plan = turn_of(changer)
    planned = changer.read()
    key, was = _where(planned, stop, seen=seen)
    target: DayKey = (str(tester_id), on)
    if target not in planned.week.problem.day_by_key:
        raise ChangeRefusedError("That tester does not work on that day.")
    visit = planned.week.problem.visit_by_key[key]
    days = tuple(dict.fromkeys([was, target]))
    place = place or _best_place(planned, visit, target=target)
    if visit.people > 1:
        put = move_both(planned, visit, target=target, place=place)
        if put is None:
            raise ChangeRefusedError(
                "Two people come there at once, and nobody else of that company works on that day."
            )
        planned, days = put.planned, put.days
    else:
        planned.draft.orders[was].remove(visit)
        order = planned.draft.orders.setdefault(target, [])
        order.insert(max(0, min(place - 1, len(order))), visit)
    writer = DayWriter(changer.program, planned, changer.hand, plan)
    for day in days:
        writer.write(day)
    return change_kept(
        changer, writer, days, words=f"{stop.premises} moved to {_spoken(on)}, place {place}"
    )


def _best_place(planned: AsPlanned, visit: Visit, *, target: DayKey) -> int:
    """Before which stop (from 1) of the day the visit adds least driving; after all where none."""
    day = planned.week.problem.day_by_key[target]
    rest = [one for one in planned.draft.orders.get(target, []) if one.key != visit.key]
    alone = Draft(planned.week.problem, {target: rest})
    found = alone.place_on(replace(visit, promise=None, people=1), day)
    return len(rest) + 1 if found is None else found.position + 1


@transaction.atomic
def mark_stop(changer: Changer, stop: Stop, *, act: str, seen: int) -> Changed:
    """Promise a stop as it stands, pin it, or take either back (``promise``, ``pin``, ``free``)."""
    plan = turn_of(changer)
    planned = changer.read()
    _key, day = _where(planned, stop, seen=seen)
    at, by = changer.hand.at, changer.hand.by
    every: dict[str, dict[str, Any]] = {
        "promise": {"promised_at": at, "promised_by": by},
        "pin": {"pinned_at": at},
        "free": {"promised_at": None, "promised_by": "", "pinned_at": None},
    }
    writer = DayWriter(changer.program, planned, changer.hand, plan)
    writer.keep(stop, **every[act])
    done = {"promise": "promised as planned", "pin": "pinned", "free": "free to be moved"}[act]
    return change_kept(changer, writer, [day], words=f"{stop.premises} {done}")


@transaction.atomic
def call_off(changer: Changer, stop: Stop, *, reason: str, seen: int) -> Changed:
    """Take a stop out of its round; the rest of the day moves up. A reason is asked for."""
    if not reason.strip():
        raise ChangeRefusedError("Say why the visit is called off.")
    plan = turn_of(changer)
    planned = changer.read()
    key, day = _where(planned, stop, seen=seen)
    planned.draft.orders[day].remove(planned.week.problem.visit_by_key[key])
    writer = DayWriter(changer.program, planned, changer.hand, plan)
    # What was promised is off too: planned anew, it is promised anew.
    over = {"promised_at": None, "promised_by": "", "pinned_at": None}
    writer.keep(planned.stops.pop(key), cancelled_at=changer.hand.at, **over)
    writer.write(day)
    return change_kept(
        changer, writer, [day], words=f"{stop.premises} called off: {reason.strip()}"
    )


@transaction.atomic
def undo_change(changer: Changer, change: PlanChange) -> None:
    """Put every stop of a change back. Raises ChangeRefusedError where one changed since."""
    plan = turn_of(changer)
    if plan.made_at > change.at:
        raise ChangeRefusedError("A new plan was made since: change that one instead.")
    stops = {str(one.pk): one for one in Stop.objects.filter(pk__in=[*change.after])}
    for pk, after in change.after.items():
        if pk not in stops or shown(stops[pk]) != after:
            raise ChangeRefusedError(
                "A visit of this change was changed again since: undo the later change first."
            )
    row = PlanChange.objects.filter(pk=change.pk, undone_at__isnull=True)
    if not row.update(undone_at=changer.hand.at, undone_by=changer.hand.by):
        raise ChangeRefusedError("This change was undone already.")
    for pk in change.after:
        called_off = {**shown(stops[pk]), "cancelled_at": changer.hand.at.isoformat()}
        kept = change.before.get(pk) or called_off
        put_back(stops[pk], kept, at=changer.hand.at)
    _record(changer, change.pk, f"undone: {change.words}", change.after, change.before)


def turn_of(changer: Changer) -> Plan:
    """Take the program's turn at its plan, so that two people change it one after the other."""
    Program.objects.select_for_update().get(pk=changer.program.pk)
    plan = newest_plan(changer.program)
    if plan is not None:
        return plan
    return Plan.objects.create(
        program=changer.program,
        from_on=changer.horizon.first_day,
        days=changer.horizon.days,
        made_at=changer.hand.at,
        made_by=changer.hand.by,
        how="by hand",
    )


def _where(planned: AsPlanned, stop: Stop, *, seen: int) -> tuple[str, DayKey]:
    """The stop's key and day in the draft. Raises ChangeRefusedError where it is not as it was."""
    if stop.second_of_id is not None:
        raise ChangeRefusedError(
            "This is the second person at a visit: change the visit itself, and both follow."
        )
    key = str(stop.premises_id)
    now = planned.stops.get(key)
    if now is None or now.pk != stop.pk or now.revision != seen:
        raise ChangeRefusedError("The visit has changed since you looked: look at it again.")
    for day, order in planned.draft.orders.items():
        if any(visit.key == key for visit in order):
            return key, day
    raise ChangeRefusedError("The visit’s tester does not work on that day any more.")


def change_kept(
    changer: Changer, writer: DayWriter, days: Sequence[DayKey], *, words: str
) -> Changed:
    """Keep what the writer changed as one change that can be undone, with what it breaks."""
    row = PlanChange.objects.create(
        program=changer.program, at=changer.hand.at, by=changer.hand.by, words=words[:500],
        before=writer.before, after=writer.after,
    )  # fmt: skip
    _record(changer, row.pk, row.words, writer.before, writer.after)
    return Changed(row=row, broken=broken(writer.planned, days))


def _spoken(on: date) -> str:
    return f"{on:%A, %B} {on.day}"


def _record(
    changer: Changer, pk: int, words: str, before: dict[str, Any], after: dict[str, Any]
) -> None:
    record_change(
        hand=changer.hand,
        what="plan by hand",
        subject_id=pk,
        label=words,
        before=before,
        after=after,
        program=changer.program,
    )
