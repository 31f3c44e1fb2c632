"""Reads what one letter is composed from, for the rows an action already holds."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from notices.catalogues import SECOND_LANGUAGES
from notices.domain.addresses import window_block
from notices.domain.briefs import Brief, Item, Sender
from notices.domain.kinds import Channel, LetterKind
from notices.domain.languages import LanguageWay
from notices.domain.orders import fire_line_of
from notices.domain.owing import RESTART_MARK, LetterGroup, OwedNotice
from notices.links import shown_address
from notices.queries.hindered import Visits, report_since, since_it_opened
from notices.queries.last_words import ahead_of
from notices.queries.owed import Position
from notices.queries.place_items import item_of_place, place_words
from notices.queries.responsible import Recipient
from registry.models import Program
from scheduling.models import Obligation
from scheduling.queries.obligations import as_domain


@dataclass(frozen=True, slots=True, kw_only=True)
class Stamp:
    """What a letter gets from its program's clock: number, code, and the day it leaves."""

    number: str
    code: str
    leaves_on: date


def sender_of(program: Program) -> Sender:
    """Return the office as its letters name it."""
    head: Mapping[str, Any] = program.letterhead or {}
    contacts: Mapping[str, Any] = program.contacts or {}
    lines = head.get("lines") or []
    told = [lines] if isinstance(lines, str) else [str(line) for line in lines]
    return Sender(
        name=str(head.get("name") or program.name),
        line=" \u00b7 ".join(told) or "Cross-connection control",
        phone=str(head.get("phone") or contacts.get("phone") or ""),
        hours=str(head.get("hours") or contacts.get("hours") or ""),
        email=str(head.get("email") or contacts.get("email") or ""),
        shown_address=shown_address(),
        colour=str(head.get("colour") or ""),
        logo=str(head.get("logo") or ""),
        paper=str(head.get("paper") or ""),
    )


def brief_of(
    group: LetterGroup,
    *,
    program: Program,
    recipient: Recipient,
    places: Mapping[int, Position],
    stamp: Stamp,
    visits: Visits,
) -> Brief:
    """Return the brief of one letter; `places` holds its obligations and how each stands."""
    mine = [places[owed.obligation_id] for owed in group.owed]
    items = [_item(o, row=p.row, visits=visits) for o, p in zip(group.owed, mine, strict=True)]
    ahead = ahead_of(mine, on=stamp.leaves_on)
    return Brief(
        kind=LetterKind(group.first.words),
        number=stamp.number,
        code=stamp.code,
        leaves_on=stamp.leaves_on,
        sender=sender_of(program),
        address=window_block(recipient.mailing),
        items=tuple(sorted(items, key=lambda item: (item.premises, item.premises_key))),
        ahead=ahead.steps,
        hearing=ahead.last.hearing,
        restoration=ahead.last.restoration,
        restoration_citation=ahead.last.restoration_citation,
        is_certified=group.first.channel == Channel.CERTIFIED,
        citation=_ground(group, items=items),
        **(_by_rung(mine[0]) or languages_of(program, recipient=recipient)),
    )


def _by_rung(place: Position) -> dict[str, Any]:
    """Return the languages that the rung itself names: both whole, or one with a headline."""
    named = place.step.rung.languages if place.step else ()
    if not named:
        return {}
    first = "en" if "en" in named else named[0]
    others = [one for one in ("en", *SECOND_LANGUAGES) if one != first]
    if len(named) > 1:
        return {"language": first, "second_language": others[0], "is_second_whole": True}
    return {"language": first, "second_language": others[0] if first != "en" else ""}


def item_of(
    row: Obligation,
    *,
    cause: str = "",
    cause_on: date | None = None,
    visits: Visits | None = None,
) -> Item:
    """Return one obligation as letters and pages speak of it; `visits` found no test possible."""
    if row.assembly is None:
        return item_of_place(row)
    assembly, premises = row.assembly, row.assembly.premises
    state = getattr(assembly, "state", None)
    untested_on, valve = since_it_opened(row, visits=visits)
    return Item(
        premises_key=str(premises.pk),
        premises=place_words(premises),
        serial=assembly.serial,
        serial_is_ours=assembly.serial_is_ours,
        type=assembly.type,
        size_in=assembly.size_in,
        location=assembly.location,
        service=assembly.connection.kind,
        hazard=assembly.hazard,
        last_passed_on=state.last_passed_on if state else None,
        due_on=row.due_on,
        failed_on=row.failed_on,
        untested_on=untested_on,
        valve=valve,
        report=report_since(row, visits=visits),
        cure_by=row.cure_by,
        cause=cause,
        cause_on=cause_on,
        citation=as_domain(row).citation,
        fire=fire_line_of(
            service=assembly.connection.kind,
            type_=assembly.type,
            has_combined_fire=premises.has_combined_fire,
        ),
        in_vault=assembly.in_vault,
        has_tenants=premises.has_tenants,
        has_medical_supply=premises.has_medical_supply,
    )


def _item(owed: OwedNotice, *, row: Obligation, visits: Visits) -> Item:
    cause, cause_on = _cause(row, occurrence=owed.occurrence)
    return item_of(row, cause=cause, cause_on=cause_on, visits=visits)


def _cause(row: Obligation, *, occurrence: str) -> tuple[str, date | None]:
    """Say what the test is owed for: the event whose day the notice names, and that day."""
    origin, _, origin_on = row.origin.partition(":")
    asked = occurrence.partition(RESTART_MARK)[0]
    if origin == "no date":
        return "No date known", None
    if not asked:
        return "", None
    cause = origin.capitalize() if origin_on == asked else "Asked for"
    return cause, date.fromisoformat(asked)


def _ground(group: LetterGroup, *, items: Sequence[Item]) -> str:
    """The rule the letter stands on: the rung's own after an event, else that of the due dates."""
    if group.first.is_order or group.first.words in {LetterKind.REPAIR, LetterKind.TEST_OWED}:
        return group.first.citation
    rules = list(dict.fromkeys(item.citation for item in items if item.citation))
    return rules[0] if len(rules) == 1 else ""


def languages_of(program: Program, *, recipient: Recipient) -> dict[str, Any]:
    """In what language a letter is written, and what a second one has of it.

    The second is the recipient's, else the program's. "own": the recipient's comes first and
    English has the headline; "whole": both have all of it.
    """
    way = LanguageWay.of(program.letterhead)
    wanted = [recipient.language, *program.languages.replace(",", " ").split()]
    spoken = [one for one in wanted if one in SECOND_LANGUAGES]
    if way is LanguageWay.OWN and recipient.language in SECOND_LANGUAGES:
        return {"language": recipient.language, "second_language": "en"}
    second = spoken[0] if spoken else ""
    return {"second_language": second, "is_second_whole": way is LanguageWay.WHOLE}
