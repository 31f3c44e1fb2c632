"""What the owner's page says, decided in words of its language before a template prints it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from notices.catalogues import SECOND_LANGUAGES, words_in
from notices.domain.briefs import Item, Sender, Words
from notices.domain.cautions import cautions_for
from notices.domain.codes import token_digest
from notices.domain.headlines import act_of_other, headline
from notices.domain.hindered import hindered_lead, valve_sentences
from notices.domain.kinds import LetterKind, Work
from notices.domain.long_dates import long_date
from notices.domain.other_work import cautions as cautions_of_other
from notices.domain.other_work import steps as steps_of_other
from notices.domain.reports_in_hand import report_sentences
from notices.domain.wording import N_, assembly_lines, cited, where_lines
from notices.models import Letter, Notice
from notices.owner import other_work
from notices.owner.due_lists import DueAtPlace, DueNow, by_place
from notices.owner.past_results import PastResult, past_results
from notices.owner.saying import SayForm, say_form
from notices.owner.sent import LetterSent, letters_sent
from notices.owner.water_off import water_off
from notices.queries.briefs import item_of, sender_of
from notices.queries.hindered import visits_without_a_test
from notices.queries.responsible import recipient_keys
from scheduling.models import Obligation
from scheduling.queries.where import WHERE, at_premises

LANGUAGE_NAMES = {"en": "English", "es": "Espa\u00f1ol"}

SERVICES = (N_("domestic"), N_("irrigation"), N_("fire"), N_("combined domestic and fire"))
"""Marked for the catalogue; services come from the registry as these words."""


@dataclass(frozen=True, slots=True, kw_only=True)
class OwnerPage:
    """The whole page. `other_language` is the code and name of the language to switch to."""

    language: str
    other_language: tuple[str, str]
    office: Sender
    headline: tuple[str, ...]
    shutoff: tuple[str, ...]
    lead: str
    due: tuple[DueNow, ...]
    list_heading: str
    places: tuple[DueAtPlace, ...]
    """A long list by its premises; it stands after what to do."""

    steps_heading: str
    steps: tuple[str, ...]
    cautions: tuple[str, ...]
    letters_heading: str
    letters: tuple[LetterSent, ...]
    results_heading: str
    results: tuple[PastResult, ...]
    certificates: str
    """The words of the link to the certificates of tests."""

    questions: str
    say: SayForm
    reference: str


def letter_by_token(token: str) -> Letter | None:
    """Return the letter whose link it is; only digests are compared."""
    found = Letter.objects.filter(token_hash=token_digest(token)).select_related("program")
    return found.first()


def page_language(wanted: str, *, letter: Letter) -> str:
    """Return the language asked for where we speak it, else the recipient's, else English."""
    spoken = letter.recipient.language if letter.recipient is not None else ""
    known = {"en", *SECOND_LANGUAGES}
    return next((language for language in (wanted, spoken) if language in known), "en")


def owner_page(letter: Letter, *, language: str, today: date, taken: str = "") -> OwnerPage:
    """Return what the page says today about the premises of a letter.

    `taken`: what became of a message just sent from it.
    """
    words = words_in(language)
    mine = premises_of_letter(letter, today=today)
    items = _items(letter, mine=mine)
    due = tuple(_due(item, today=today, words=words, language=language) for item in items)
    office = sender_of(letter.program)
    other = "en" if language != "en" else "es"
    return OwnerPage(
        language=language,
        other_language=(other, LANGUAGE_NAMES[other]),
        office=office,
        headline=_headline(items, today=today, words=words, language=language),
        shutoff=water_off(mine, words=words, language=language),
        lead=_lead(items, words=words),
        due=due,
        list_heading=words.gettext("The whole list"),
        places=by_place(due),
        steps_heading=words.gettext("What to do"),
        steps=_steps(items, words=words),
        cautions=_cautions(items, words=words),
        letters_heading=words.gettext("Letters sent"),
        letters=letters_sent(letter, words=words, language=language),
        results_heading=words.gettext("Past results"),
        results=past_results(mine, words=words),
        certificates=words.gettext("Tests on record, with their certificates"),
        questions=_questions(office, words=words),
        say=say_form(taken, words=words),
        reference=words.gettext("Letter %(number)s") % {"number": letter.number},
    )


def _cautions(items: Sequence[Item], *, words: Words) -> tuple[str, ...]:
    tests = [item for item in items if item.work is Work.TEST]
    found = cautions_for(tests, words=words) if tests else ()
    return tuple(dict.fromkeys((*found, *cautions_of_other(items, words=words))))


def premises_of_letter(letter: Letter, *, today: date) -> list[int]:
    """Return the premises a letter is about at which its recipient is still bound."""
    notices = Notice.objects.filter(carried__letter=letter)
    premises = list(notices.order_by("premises").values_list("premises", flat=True).distinct())
    bound = recipient_keys(premises, today=today)
    return [key for key in premises if bound[key] == letter.recipient_key]


def _items(letter: Letter, *, mine: Sequence[int]) -> list[Item]:
    """The open obligations at the letter's premises, while the same party is bound there."""
    found = (
        Obligation.objects.filter(
            at_premises(mine),
            program=letter.program,
            opened_on__isnull=False,
            closed_on__isnull=True,
        )
        .select_related("assembly__state", *WHERE)
        .order_by("due_on", "pk")
    )
    rows = list(found)
    visits = visits_without_a_test(rows)
    return [item_of(row, visits=visits) for row in rows]


def _questions(office: Sender, *, words: Words) -> str:
    """Where to turn with a question; a program without contacts has its letterhead."""
    if office.phone or office.email:
        return words.gettext("Questions, or something is wrong? Call or write to us:")
    return words.gettext(
        "Questions, or something is wrong? Write to the address at the head of your letter."
    )


def _headline(
    items: Sequence[Item], *, today: date, words: Words, language: str
) -> tuple[str, ...]:
    if not items:
        return (words.gettext("No test is asked for at the moment."),)
    return tuple(
        sentence
        for work in Work
        if (mine := [item for item in items if item.work is work])
        for sentence in _headline_of(mine, today=today, words=words, language=language)
    )


def _headline_of(
    items: Sequence[Item], *, today: date, words: Words, language: str
) -> tuple[str, ...]:
    days = [item.cure_by or item.due_on for item in items]
    late = min(days) < today
    kind = LetterKind.FIRST_OVERDUE if late else LetterKind.REMINDER
    matter, act = headline(kind=kind, items=items, by=days, words=words, language=language)
    if items[0].work is not Work.TEST:
        by = () if late else days
        return (matter, act_of_other(items[0].work, by=by, words=words, language=language))
    return (
        (matter, words.ngettext("Have it done now.", "Have them done now.", len(items)))
        if late
        else (matter, act)
    )


def _lead(items: Sequence[Item], *, words: Words) -> str:
    if not items:
        return words.gettext(
            "Our record shows nothing due at the premises of this letter, or another owner."
        )
    works = {item.work for item in items}
    said = [other_work.lead(work, words=words) for work in Work if work in works - {Work.TEST}]
    if Work.TEST in works:
        said.insert(
            0,
            words.gettext(
                "A backflow assembly keeps used water in a building out of the public drinking "
                "water. It must pass a test on time."
            ),
        )
    return " ".join(said)


def _due(item: Item, *, today: date, words: Words, language: str) -> DueNow:
    standing, stands = _standing(item, today=today, words=words)
    if item.work is not Work.TEST:
        return DueNow(
            standing="due" if standing == "untested" else standing,
            stands=stands,
            assembly=other_work.what_lines(item, words=words),
            where=(item.premises, *other_work.where_lines(item, words=words)),
            why=other_work.why(item, words=words, language=language),
        )
    return DueNow(
        standing=standing,
        stands=stands,
        assembly=assembly_lines(item, words=words),
        where=(item.premises, *where_lines(item, words=words)),
        why=_why(item, words=words, language=language),
    )


def _standing(item: Item, *, today: date, words: Words) -> tuple[str, str]:
    if item.failed_on:
        return "failed", words.gettext("Failed its test")
    days = (item.due_on - today).days
    if days < 0:
        text = words.ngettext("Overdue by %(days)s day", "Overdue by %(days)s days", -days)
        return "overdue", text % {"days": f"{-days:,}"}
    if days == 0:
        return "due", words.gettext("Due today")
    text = words.ngettext("Due in %(days)s day", "Due in %(days)s days", days)
    return ("due" if item.last_passed_on else "untested"), text % {"days": f"{days:,}"}


def _why(item: Item, *, words: Words, language: str) -> str:
    due = long_date(item.cure_by or item.due_on, language=language)
    if item.is_hindered and item.failed_on:
        text = words.gettext("%(lead)s It must pass a new test by %(due)s.") % {
            "lead": hindered_lead(item.failed_on, words=words, language=language),
            "due": due,
        }
    elif item.failed_on:
        text = words.gettext(
            "Its test on %(failed)s did not meet the limits. It must pass a new test by %(due)s."
        ) % {"failed": long_date(item.failed_on, language=language), "due": due}
    elif item.last_passed_on:
        text = words.gettext("It last passed on %(passed)s. The next test was set for %(due)s.") % {
            "passed": long_date(item.last_passed_on, language=language),
            "due": due,
        }
    else:
        text = words.gettext("No passing test is on record. A test was set for %(due)s.") % {
            "due": due
        }
    said = (*valve_sentences([item], words=words), *report_sentences([item], words=words))
    return cited(" ".join((text, *said)), item.citation)


def _steps(items: Sequence[Item], *, words: Words) -> tuple[str, ...]:
    works = {item.work for item in items}
    found = steps_of_tests(items, words=words) if Work.TEST in works else ()
    for work in Work:
        if work in works - {Work.TEST}:
            found += steps_of_other(work, words=words)
    return found


def steps_of_tests(items: Sequence[Item], *, words: Words) -> tuple[str, ...]:
    """Return what to do about tests that are owed."""
    first = words.gettext("Ask a tester whom this program accepts. We can tell you who they are.")
    if any(item.failed_on for item in items):
        first = words.gettext("Have it repaired by a person who may do so here, then tested again.")
    return (
        first,
        words.gettext("A test usually needs the water off for 5 to 20 minutes. Agree on a time."),
        words.gettext("That is all. The tester sends us the result."),
    )
