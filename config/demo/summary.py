"""The demo in a dozen lines: what is there now, where the files are, who can log in."""

from __future__ import annotations

from collections import Counter

from config.demo import district
from config.demo.steps import Demo
from notices.models import Letter
from registry.models import Assembly, Program
from reports.models import FieldTest, Job
from reports.queries.jobs import call_list
from scheduling.models import Obligation


def summary_lines(demo: Demo) -> list[str]:
    """Return the summary; counts are what stands now, whether this was the first run or not."""
    program = Program.objects.get(code=district.CODE)
    return [
        "",
        f"{district.NAME}, a trial as of {district.AS_OF}",
        *_place_lines(demo),
        *_registry_lines(demo, program),
        *_letter_lines(demo, program),
        *_job_lines(program),
        *_round_lines(demo),
        *_test_lines(program),
        "",
    ]


def _place_lines(demo: Demo) -> list[str]:
    if not demo.place:
        return []
    return [
        f"By the rulebook {demo.place}: what it does not state is invented, and says so.",
        f"Live through its ladder on the page /p/{district.CODE}/live-on/",
    ]


def login_lines() -> list[str]:
    """Return who can log in, each with their role, and the one password."""
    rows = [f"  {login.username:<14} {login.role}" for login in district.LOGINS]
    return [f"Log in as any of these, password {district.PASSWORD}:", *rows]


def _registry_lines(demo: Demo, program: Program) -> list[str]:
    said = demo.said["registry"]
    aside = len({entry["row"] for entry in said["rejected"]})
    open_ones = Obligation.objects.filter(
        program=program, opened_on__isnull=False, closed_on__isnull=True
    )
    return [
        _line("rows in the spreadsheet", said["rows"], f"{aside} set aside, with their reasons"),
        _line("assemblies", Assembly.objects.filter(program=program).count()),
        _line("obligations open", open_ones.count()),
    ]


def _letter_lines(demo: Demo, program: Program) -> list[str]:
    letters = Letter.objects.filter(program=program)
    waiting = letters.filter(needs_release=True, released_at__isnull=True, ended_on__isnull=True)
    return [
        _line("letters", letters.count(), f"{waiting.count()} wait for a person"),
        f"{'':>8}  PDFs: {demo.letters}",
    ]


def _job_lines(program: Program) -> list[str]:
    to_call = call_list(program, today=district.AS_OF).total
    return [
        _line(
            "jobs asked for",
            Job.objects.filter(program=program).count(),
            f"{to_call} homes to call",
        )
    ]


def _round_lines(demo: Demo) -> list[str]:
    plan = demo.said["plan"]
    stops = sum(len(found["stops"]) for found in plan["rounds"])
    week = f"week from {district.WEEK_FROM}, {len(plan['rounds'])} rounds"
    return [
        _line("visits planned", stops, f"{week}, {plan['drive_minutes']} minutes of driving"),
        f"{'':>8}  calendars: {demo.calendars}",
    ]


def _test_lines(program: Program) -> list[str]:
    tests = FieldTest.objects.filter(program=program)
    outcomes = Counter(tests.values_list("outcome", flat=True))
    told = ", ".join(f"{count} {name or 'not found'}" for name, count in outcomes.most_common())
    return [_line("field tests", tests.count(), told)]


def _line(name: str, count: int, more: str = "") -> str:
    return f"{count:>8,}  {name}" + (f" ({more})" if more else "")
