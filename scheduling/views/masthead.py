"""The masthead of a page: program, person, the words with the current one, the day."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date
from typing import Final

from django.http import HttpRequest
from django.urls import reverse

from registry.views.people import LOOK_COOKIE, LOOKS
from scheduling.models import Adoption, DayRun
from scheduling.views.desk import Desk, Seat, name_of

# word, the page it leads to, the seats that have it, and the pages under it
_WORDS: Final = (
    (
        "Today",
        "today",
        (Seat.OFFICE,),
        ("questions", "settings", "erase", "proposals", "decisions", "decision"),
    ),
    (
        "Registry",
        "registry",
        (Seat.OFFICE, Seat.FIRM, Seat.OWNER),
        (
            *("assembly", "premises", "part", "tester", "gauge", "load", "fact", "connection"),
            *("survey", "service", "evidence", "emergency-order", "fees"),
            *("testers", "term", "calibration", "air-gap"),
            *("merge", "merges", "contacts", "objection"),
        ),
    ),
    (
        "Letters",
        "letters",
        (Seat.OFFICE,),
        (
            *("letter", "letters", "order", "mail", "orders", "shutoff", "fire-department"),
            *("live-on", "wording", "wordings"),
        ),
    ),
    (
        "Rounds",
        "rounds",
        (Seat.OFFICE, Seat.FIRM),
        ("round", "calendars", "plan", "appointments", "busy"),
    ),
    (
        "Field tests",
        "field-tests",
        (Seat.OFFICE, Seat.FIRM),
        (
            *("field-test", "tests", "paper", "papers", "own-form", "own-forms", "quality-watch"),
            *("found",),
        ),
    ),
    ("Rulebook", "rulebook", (Seat.OFFICE, Seat.FIRM), ("rulebook", "methods", "method")),
    ("Figures", "figures", (Seat.OFFICE,), ("runs", "levelling")),
)

_COMPANIES: Final = ("firms", "firm", "lapses")
"""Pages of testing companies: the office has them beside testers, a company beside its tests."""


@dataclass(frozen=True, kw_only=True)
class Word:
    """One word of navigation."""

    text: str
    href: str
    is_here: bool
    is_exact: bool


@dataclass(frozen=True, kw_only=True)
class Masthead:
    """What stands above and below every page."""

    person: str = ""
    role: str = ""
    code: str = ""
    program_name: str = ""
    look: str = ""
    today: date | None = None
    words: list[Word] = field(default_factory=list)
    rulebook: str = ""
    edition: int | None = None
    in_force_on: date | None = None
    last_run: str = ""


def masthead_of(request: HttpRequest) -> Masthead:
    """The masthead of a request; bare where nobody is logged in or no program is open."""
    look = request.COOKIES.get(LOOK_COOKIE, "")
    look = look if look in LOOKS else ""
    user = getattr(request, "user", None)
    person = name_of(user) if user and user.is_authenticated else ""
    desk: Desk | None = getattr(request, "desk", None)
    if desk is None or not person:
        return Masthead(person=person, look=look)
    adoption = (
        Adoption.objects.filter(program=desk.program, effective_on__lte=desk.today)
        .select_related("rulebook")
        .defer("rulebook__text")
        .order_by("-effective_on")
        .first()
    )
    return Masthead(
        person=person,
        role=desk.role,
        code=desk.program.code,
        program_name=str(desk.program.letterhead.get("name") or desk.program.name),
        look=look,
        today=desk.today,
        words=_words(request, desk),
        rulebook=adoption.rulebook.name if adoption else "",
        edition=adoption.rulebook.edition if adoption else None,
        in_force_on=adoption.effective_on if adoption else None,
        last_run=_last_run(desk) if desk.seat is Seat.OFFICE else "",
    )


def _words(request: HttpRequest, desk: Desk) -> list[Word]:
    here = (request.resolver_match.url_name if request.resolver_match else "") or ""
    return [
        Word(
            text=text,
            href=reverse(name, args=[desk.program.code]),
            is_here=_is_under(
                here or "", name=name, under=_pages_under(name, under, seat=desk.seat)
            ),
            is_exact=here == name,
        )
        for text, name, seats, under in _WORDS
        if desk.seat in seats
    ]


def _pages_under(name: str, under: tuple[str, ...], *, seat: Seat) -> tuple[str, ...]:
    has_companies = name == ("field-tests" if seat is Seat.FIRM else "registry")
    return (*under, *_COMPANIES) if has_companies else under


def _is_under(here: str, *, name: str, under: tuple[str, ...]) -> bool:
    return here == name or any(here == one or here.startswith(f"{one}-") for one in under)


def _last_run(desk: Desk) -> str:
    """What became of the latest day run, all its runs together: two queries at most."""
    run = DayRun.objects.filter(program=desk.program).order_by("-started_at", "-id").first()
    if run is None:
        return "The day has not been run yet."
    if run.problem:
        return f"The run of {run.as_of:%B} {run.as_of.day} stopped: {run.problem}"
    day = f"{run.as_of:%B} {run.as_of.day}"
    if run.finished_at is None:
        is_today = run.as_of == desk.today
        return "Today’s run is under way." if is_today else f"The run of {day} did not end."
    tallies = DayRun.objects.filter(program=desk.program, as_of=run.as_of)
    notices = sum(one.get("notices", 0) for one in tallies.values_list("tally", flat=True))
    at = run.finished_at.astimezone(desk.zone)
    clock = f"{at.hour % 12 or 12}:{at.minute:02d} {'am' if at.hour < 12 else 'pm'}"
    recorded = "1 notice recorded." if notices == 1 else f"{notices:,} notices recorded."
    if run.as_of == desk.today:
        return f"Today’s run finished {clock}: {recorded}"
    return f"The last run was for {day}: {recorded}"
