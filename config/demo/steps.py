"""The demo's day: every step is one of the real commands, asked for its JSON."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from io import StringIO
from pathlib import Path
from typing import Any

from django.core.management import call_command

from config.demo import district
from config.demo.dispatching import say_how_visits_go
from config.demo.logins import make_logins
from config.demo.places import place_in_force, state_of
from registry.console import REFUSED, Refused
from registry.models import Program, Tester

Said = dict[str, Any]


@dataclass
class Demo:
    """Where the demo writes, how long it may plan, and what each command answered."""

    folder: Path
    place: str = ""
    """The rulebook of a place whose ladder is lived through; empty: the teaching one."""

    solver_seconds: int = district.SOLVER_SECONDS
    said: dict[str, Said] = field(default_factory=dict)

    @property
    def letters(self) -> Path:
        """The folder with the PDFs of the day's letters."""
        return self.folder / "letters"

    @property
    def calendars(self) -> Path:
        """The folder with one calendar per tester."""
        return self.folder / "calendars"


@dataclass(frozen=True)
class Step:
    """One step, with the words shown while it runs."""

    words: str
    run: Callable[[Demo], None]


def steps() -> Sequence[Step]:
    """Return the steps in their order."""
    return (
        Step("Making the database", _migrate),
        Step("Putting the rulebook in its place", _choose_rulebook),
        Step("Loading the registry", _load_registry),
        Step("Writing the letterhead", _set_program),
        Step("Loading the testers", _load_testers),
        Step("Making the logins", _make_logins),
        Step("Loading five years of field tests", _load_past),
        Step("Running the day", _run_day),
        Step("Assigning, taking orders, asking for notice", _say_how_visits_go),
        Step("Planning a week", _plan_week),
        Step("Writing the calendars", _export_calendars),
        Step("Judging the field tests", _load_tests),
    )


def answer_of(command: str, *arguments: str) -> Any:
    """Run a command and return its JSON; what was set aside is part of the demo.

    Raises Refused when the command did nothing.
    """
    said = StringIO()
    try:
        call_command(command, *arguments, "--json", stdout=said)
    except SystemExit as stop:
        if stop.code == REFUSED:
            raise Refused(f"{command}: {json.loads(said.getvalue())['error']}") from None
    return json.loads(said.getvalue())


def _program_and_day() -> Iterator[str]:
    yield from ("--program", district.CODE, "--as-of", district.AS_OF.isoformat())


def _migrate(_demo: Demo) -> None:
    call_command("migrate", verbosity=0)


def _load_registry(demo: Demo) -> None:
    how = ("--rulebook", demo.place or district.RULEBOOK, "--zone", district.ZONE)
    demo.said["registry"] = answer_of(
        "load_registry", str(district.REGISTRY), *how, *_program_and_day()
    )


def _choose_rulebook(demo: Demo) -> None:
    if demo.place:
        place_in_force(demo.place)


def _set_program(demo: Demo) -> None:
    where = ("--state", state_of(demo.place)) if demo.place else ()
    answer_of("program_settings", "--program", district.CODE, *district.PROGRAM_SETTINGS, *where)


def _load_testers(demo: Demo) -> None:
    demo.said["testers"] = answer_of("load_testers", str(district.TESTERS), *_program_and_day())


def _load_past(_demo: Demo) -> None:
    """Field tests of five years with the credentials of their days: what trends are drawn from."""
    answer_of("load_testers", str(district.PAST_TESTERS), *_program_and_day())
    answer_of("load_tests", str(district.PAST_TESTS), *_program_and_day())


def _say_how_visits_go(_demo: Demo) -> None:
    answer_of("load_registry", str(district.VISITS), *_program_and_day())
    say_how_visits_go(program=Program.objects.get(code=district.CODE))


def _make_logins(_demo: Demo) -> None:
    make_logins(program=Program.objects.get(code=district.CODE))


def _run_day(demo: Demo) -> None:
    demo.letters.mkdir(parents=True, exist_ok=True)
    demo.said["day"] = answer_of("run_day", "--out", str(demo.letters), *_program_and_day())


def _plan_week(demo: Demo) -> None:
    when = ("--from", district.WEEK_FROM.isoformat(), "--days", str(district.WEEK_DAYS))
    effort = ("--seconds", str(demo.solver_seconds), "--seed", "1")
    demo.said["plan"] = answer_of("plan_rounds", "--program", district.CODE, *when, *effort)


def _export_calendars(demo: Demo) -> None:
    demo.calendars.mkdir(parents=True, exist_ok=True)
    testers = Tester.objects.filter(approvals__program__code=district.CODE).distinct()
    for certificate in testers.values_list("certificate", flat=True):
        said = StringIO()
        who = ("--program", district.CODE, "--tester", certificate)
        call_command("export_calendar", *who, stdout=said)
        # The format ends its lines with CR LF; text mode would translate them.
        (demo.calendars / f"{certificate}.ics").write_bytes(said.getvalue().encode())


def _load_tests(demo: Demo) -> None:
    demo.said["tests"] = answer_of("load_tests", str(district.TESTS), *_program_and_day())
