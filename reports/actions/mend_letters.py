"""Writes to testing companies which of their reports do not count: once for each version."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from datetime import timedelta
from functools import partial
from typing import Final

from django.conf import settings
from django.db import transaction

from notices.actions.clocks import Day, locked_clock
from notices.actions.extra_letters import Wanted, write_letter
from notices.actions.releasing import release_letters
from notices.domain.briefs import Words
from notices.domain.deliveries import DeliveryState
from notices.domain.kinds import UNSENT_STATES, Channel, LetterState
from notices.domain.mend_letters import MendBrief, MendLetter, mend_letter
from notices.domain.plain_letters import Text
from notices.models import Delivery, Letter, LetterAbout
from notices.queries.addressees import recipients_by_key
from notices.queries.briefs import sender_of
from registry.batches import in_batches
from registry.domain.emails import read_email
from registry.models import Firm, Program
from reports.models import FieldTest
from reports.queries.to_mend import DueDays, reports_to_mend, still_to_mend, told_of

DAYS: Final = 60
"""Reports tested longer ago than this are not written about."""

KEY: Final = "mend:"
BY: Final = "run of the day"
GAP: Final = "The mailing address has no "
"""How a letter's flag begins where a part of the address is missing."""

MENDED: Final = "A report that it names was mended before it left."
REACHED: Final = "The company's address is on record by now: it is written anew."


def tell_firms(day: Day) -> list[Letter]:
    """Withdraw what was mended, then write one letter to each company with something untold.

    It leaves by itself, by e-mail or else by mail; without either address it waits for a person.
    A second time writes nothing: a report that was told is told.
    """
    withdraw_mended(day)
    due = DueDays(day.program)
    found = _untold(day.program, reports_to_mend(day.program, since=day.on - timedelta(days=DAYS)))
    firms = Firm.objects.in_bulk(list(found))
    letters = []
    for firm_id, tests in found.items():
        letter = _letter(firms[firm_id], tests=tests, due=due, day=day)
        if not letter.flags:
            release_letters(
                program=day.program, letter_ids=[letter.pk], by=BY, at=day.at, today=day.on
            )
        letters.append(letter)
    return letters


def withdraw_mended(day: Day) -> int:
    """Withdraw letters that have not left and name a report mended since, or had no address.

    What the letter named and still stands is told anew in the next one.
    """
    with transaction.atomic():
        locked_clock(day.program)
        waiting: dict[int, dict[int, int]] = defaultdict(dict)
        rows = LetterAbout.objects.filter(
            program=day.program, key__startswith=KEY, letter__state__in=UNSENT_STATES
        )
        for pk, letter_id, key in rows.values_list("pk", "letter_id", "key"):
            waiting[letter_id][pk] = int(key.removeprefix(KEY))
        named = [ref for some in waiting.values() for ref in some.values()]
        standing = still_to_mend(day.program, ids=named)
        gone = [pk for pk, some in waiting.items() if not standing.issuperset(some.values())]
        found = [pk for pk in _reached_by_now(waiting) if pk not in gone]
        for ids, why in ((gone, MENDED), (found, REACHED)):
            Letter.objects.filter(pk__in=ids, state__in=UNSENT_STATES).update(
                state=LetterState.WITHDRAWN, ended_on=day.on, ended_reason=why
            )
            Delivery.objects.filter(letter__in=ids, state=DeliveryState.WAITING).update(
                state=DeliveryState.WITHDRAWN
            )
        both = [*gone, *found]
        again = [pk for one in both for pk, ref in waiting[one].items() if ref in standing]
        LetterAbout.objects.filter(pk__in=again).delete()
    return len(both)


def _reached_by_now(letter_ids: Iterable[int]) -> list[int]:
    """Letters that wait since the company had no address, and it has one by now."""
    rows = Letter.objects.filter(pk__in=list(letter_ids), state=LetterState.COMPOSED)
    waiting = [one for one in rows.only("pk", "flags", "recipient_key") if _lacks_address(one)]
    ids = {one.pk: int(one.recipient_key.removeprefix("firm:")) for one in waiting}
    firms = Firm.objects.in_bulk(set(ids.values()))
    return [pk for pk, firm_id in ids.items() if firm_id in firms and _is_reached(firms[firm_id])]


def _lacks_address(letter: Letter) -> bool:
    """Another flag (a line too many, a letter that no face draws) waits on for a person."""
    return any(str(flag).startswith(GAP) for flag in letter.flags)


def _is_reached(firm: Firm) -> bool:
    return bool(read_email(firm.email).value) or all((firm.address, firm.city, firm.zip))


def _untold(program: Program, found: dict[int, list[FieldTest]]) -> dict[int, list[FieldTest]]:
    keys = [_key(test) for tests in found.values() for test in tests]
    told: set[str] = set()
    for some in in_batches(keys):
        known = LetterAbout.objects.filter(program=program, key__in=some)
        told |= set(known.values_list("key", flat=True))
    left = {firm: [one for one in tests if _key(one) not in told] for firm, tests in found.items()}
    return {firm: tests for firm, tests in sorted(left.items()) if tests}


def _letter(firm: Firm, *, tests: Sequence[FieldTest], due: DueDays, day: Day) -> Letter:
    days = [due.of(test) for test in tests]
    brief = MendBrief(
        sender=sender_of(day.program),
        reports=tuple(told_of(test, due=on) for test, on in zip(tests, days, strict=True)),
        pages=f"{settings.BASE_URL}/p/{day.program.code}/field-tests/",
        today=day.on,
        citation=next((one.reason.citation for one in days if one is not None), ""),
    )
    key = f"firm:{firm.pk}"
    has_mail = bool(read_email(firm.email).value)
    return write_letter(
        Wanted(
            kind=MendLetter.REPORTS,
            key=_key(tests[0]),
            more_keys=tuple(_key(test) for test in tests[1:]),
            recipient=recipients_by_key([key], program=day.program)[key],
            text_in=partial(_text, brief),
            channel=Channel.EMAIL if has_mail else Channel.MAIL,
            is_addressed=has_mail,
            needs_release=False,
        ),
        day=day,
    )


def _text(brief: MendBrief, words: Words) -> Text:
    return mend_letter(brief, words=words)


def _key(test: FieldTest) -> str:
    return f"{KEY}{test.pk}"
