"""A dedicated fire line whose ladder has come to an order: the fire department is written to."""

from __future__ import annotations

from collections.abc import Sequence

from notices.actions.clocks import Day
from notices.actions.extra_letters import Wanted, write_letter
from notices.domain.fire_line_letters import fire_line
from notices.domain.kinds import FireLine
from notices.domain.order_letters import OrderBrief, OrderLetter
from notices.domain.orders import fire_line_of
from notices.domain.owing import OwedNotice
from notices.models import LetterAbout, Notice
from notices.queries.briefs import item_of, sender_of
from notices.queries.fire_department import fire_department
from notices.queries.shutoff_rules import in_force
from scheduling.domain.rules import Topic
from scheduling.models import Obligation
from scheduling.queries.where import WHERE


def fire_line_key(obligation_id: int) -> str:
    """Return what such a letter is about, as letters name it."""
    return f"fire line:{obligation_id}"


def report_fire_lines(held: Sequence[OwedNotice], *, day: Day) -> int:
    """Write to the fire department of each held order of a dedicated fire line, once each.

    Nothing is written while no address is recorded: the page Orders asks for it. Each letter
    waits for a person. Returns how many are new.
    """
    to = fire_department(day.program)
    if to is None:
        return 0
    orders = {one.obligation_id for one in held if one.is_order}
    known = LetterAbout.objects.filter(
        program=day.program, key__in=[fire_line_key(one) for one in orders]
    ).values_list("key", flat=True)
    new = sorted(one for one in orders if fire_line_key(one) not in set(known))
    rows = Obligation.objects.filter(pk__in=new, assembly__isnull=False).select_related(
        "rulebook", "assembly__state", *WHERE
    )
    lines = [row for row in rows.order_by("pk") if _is_fire_line(row)]
    for row in lines:
        brief = _brief(row, day=day)
        write_letter(
            Wanted(
                kind=OrderLetter.FIRE_LINE,
                key=fire_line_key(row.pk),
                recipient=to,
                text_in=lambda words, brief=brief: fire_line(brief, words=words),  # type: ignore[misc]
            ),
            day=day,
        )
    return len(lines)


def _is_fire_line(row: Obligation) -> bool:
    one = row.its_assembly
    found = fire_line_of(
        service=one.connection.kind,
        type_=one.type,
        has_combined_fire=one.premises.has_combined_fire,
    )
    return found is FireLine.DEDICATED


def _brief(row: Obligation, *, day: Day) -> OrderBrief:
    premises = row.where
    rule = in_force(
        day.program,
        topic=Topic.NO_SHUTOFF,
        on=day.on,
        premises=premises,
        service=row.its_assembly.connection,
    )
    left = Notice.objects.filter(obligation=row, left_on__isnull=False).order_by("left_on", "pk")
    item = item_of(row)
    return OrderBrief(
        place=item.premises,
        sender=sender_of(day.program),
        items=(item,),
        citation=rule.citation if rule else "",
        sent=tuple((one.left_on, one.rung) for one in left if one.left_on is not None),
    )
