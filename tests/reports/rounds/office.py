"""An invented program with testers and due assemblies, and its commands called as outside."""

from __future__ import annotations

import json
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, time, timedelta
from decimal import Decimal
from io import StringIO
from typing import Any
from zoneinfo import ZoneInfo

from django.core.management import call_command
from icalendar import Calendar

from registry.domain.identity import serial_key
from registry.domain.kinds import AssemblyType, Hazard
from registry.models import (
    Approval,
    Assembly,
    Certification,
    Firm,
    Premises,
    Program,
    ServiceConnection,
    Tester,
)
from scheduling.models import Obligation, ProgramClock, Rulebook

MONDAY = date(2026, 11, 30)
TODAY = date(2026, 11, 25)
NOON = datetime(2026, 11, 25, 12, tzinfo=UTC)


@dataclass
class Said:
    """What a command answered."""

    code: int
    out: str
    err: str

    @property
    def json(self) -> Any:
        return json.loads(self.out)


def run(name: str, *arguments: str) -> Said:
    """Call a command in this process and keep its exit code."""
    out, err = StringIO(), StringIO()
    code = 0
    try:
        call_command(name, *arguments, stdout=out, stderr=err)
    except SystemExit as ended:
        code = int(ended.code or 0)
    return Said(code, out.getvalue(), err.getvalue())


@dataclass
class Office:
    """A trial program that lives on 25 November 2026, in Los Angeles' time unless said."""

    code: str = "flats"
    zone: str = "America/Los_Angeles"
    count: int = field(default=0)

    def __post_init__(self) -> None:
        self.program = Program.objects.create(
            code=self.code, name="Flats", zone=self.zone, is_trial=True, created_at=NOON
        )
        ProgramClock.objects.create(program=self.program, last_run_on=TODAY)
        self.rulebook, _made = Rulebook.objects.get_or_create(
            name="plain", defaults={"title": "Plain", "text": "", "sha256": "", "loaded_at": NOON}
        )

    def tester(
        self, certificate: str, *, firm: str = "Stillbrook Testing", **fields: Any
    ) -> Tester:
        """An approved tester with a certificate valid from 2025 to 2027."""
        company, _made = Firm.objects.get_or_create(name=firm, key=firm.lower())
        person = Tester.objects.create(
            firm=company, certificate=certificate, name=f"Tester {certificate}", **fields
        )
        since, until = date(2025, 1, 1), date(2027, 12, 31)
        for whom in (None, person):
            Approval.objects.get_or_create(
                program=self.program,
                firm=company,
                tester=whom,
                gauge=None,
                defaults={"valid_from": since},
            )
        Certification.objects.create(
            program=self.program, tester=person, valid_from=since, valid_to=until
        )
        return person

    def premises(
        self, *, lat: float | None = 46.85, lon: float | None = -118.2, **fields: Any
    ) -> Premises:
        """A premises with an account of its own."""
        self.count += 1
        return Premises.objects.create(
            program=self.program,
            account=fields.pop("account", f"A-{self.count}"),
            name=fields.pop("name", f"Premises {self.count}"),
            address=fields.pop("address", f"{self.count} Juniper St"),
            city="Tamarack Flats",
            state="WA",
            zip="99171",
            lat=None if lat is None else Decimal(str(round(lat, 6))),
            lon=None if lon is None else Decimal(str(round(lon, 6))),
            key=f"premises-{self.count}",
            **fields,
        )

    def due(
        self,
        premises: Premises,
        *,
        opens_on: date = date(2026, 11, 1),
        due_on: date = date(2026, 12, 15),
        service: str = "domestic",
        assembly: dict[str, Any] | None = None,
        **fields: Any,
    ) -> Obligation:
        """A test owed at the premises, on an assembly of its own."""
        self.count += 1
        connection, _made = ServiceConnection.objects.get_or_create(premises=premises, kind=service)
        values = {
            "type": AssemblyType.RP,
            "size_in": Decimal("0.75"),
            "serial": f"S{self.count}",
            "hazard": Hazard.LOW,
            **(assembly or {}),
        }
        row = Assembly.objects.create(
            program=self.program,
            premises=premises,
            connection=connection,
            serial_key=serial_key(f"S{self.count}"),
            created_at=NOON,
            **values,
        )
        return Obligation.objects.create(
            program=self.program,
            assembly=row,
            origin=f"cycle:{due_on}",
            opens_on=opens_on,
            due_on=due_on,
            rulebook=self.rulebook,
            **fields,
        )

    def town(self, *, visits: int, **fields: Any) -> list[Obligation]:
        """Premises on a small grid, one test owed at each."""
        return [
            self.due(
                self.premises(lat=46.80 + 0.01 * (n % 7), lon=-118.25 + 0.012 * (n // 7)), **fields
            )
            for n in range(visits)
        ]

    def plan(self, *arguments: str, first_day: date = MONDAY, days: int = 5) -> Said:
        """Plan with few iterations, so that it repeats exactly."""
        effort = () if "--seconds" in arguments else ("--iterations", "60", "--seed", "1")
        when = ("--from", first_day.isoformat(), "--days", str(days))
        return run("plan_rounds", "--program", self.code, *when, *effort, "--json", *arguments)

    def calendar(self, certificate: str) -> Calendar:
        """The calendar of a tester, parsed back."""
        said = run("export_calendar", "--program", self.code, "--tester", certificate)
        assert said.code == 0, said.err
        return Calendar.from_ical(said.out)


def stops_of(said: Said) -> list[dict[str, Any]]:
    """All stops of a plan's answer."""
    return [stop for one in said.json["rounds"] for stop in one["stops"]]


def at(day: date, wall: time, office: Office) -> datetime:
    """An aware moment in the program's zone."""
    return datetime.combine(day, wall, tzinfo=ZoneInfo(office.zone))


def minutes(since: str, until: str) -> int:
    """Minutes between two ISO moments."""
    span = datetime.fromisoformat(until) - datetime.fromisoformat(since)
    return span // timedelta(minutes=1)
