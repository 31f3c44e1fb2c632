"""What is invented about the demo: the district, its day, its letterhead, its people."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from pathlib import Path

from registry.domain.kinds import Role

CODE = "tamarack"
NAME = "Tamarack Flats Water District"
ZONE = "America/Los_Angeles"
RULEBOOK = "plain-rolling"
AS_OF = date(2026, 11, 25)
# The Monday after: a whole week of rounds.
WEEK_FROM = date(2026, 11, 30)
WEEK_DAYS = 5
SOLVER_SECONDS = 20

FILES = Path(__file__).resolve().parent.parent.parent / "fixtures" / "demo"
REGISTRY = FILES / "registry.csv"
TESTERS = FILES / "testers.csv"
TESTS = FILES / "tests.csv"
# Rows of the registry once more, with what a visit needs and who tests there.
VISITS = FILES / "visits.csv"
PAST_TESTERS = FILES / "past-testers.csv"
PAST_TESTS = FILES / "past-tests.csv"
BUSY = FILES / "brisa-busy.ics"

FIRE_DEPARTMENT = {
    "name": "Tamarack Flats Fire Department",
    "address": "2 Hose Lane",
    "city": "Tamarack Flats",
    "state": "WA",
    "zip": "99171",
}

TESTING_COMPANY = "Stillbrook Testing"
SECOND_COMPANY = "Cinder Fork Plumbing"
TESTER_CERTIFICATE = "T-1000"
# One word for everybody: the demo serves on loopback alone and holds invented data.
PASSWORD = "tamarack-flats"  # noqa: S105


@dataclass(frozen=True)
class Login:
    """One demo login: its name, whom it stands for, and the role."""

    username: str
    first_name: str
    last_name: str
    role: Role


LOGINS = (
    Login("administrator", "Orsolya", "Underbough", Role.ADMINISTRATOR),
    Login("clerk", "Tobiah", "Fennelgate", Role.CLERK),
    Login("dispatcher", "Marit", "Sallowfield", Role.DISPATCHER),
    Login("tester", "Ansel", "Abernethy-Holt", Role.TESTER),
    Login("manager", "Ione", "Kestrelwood", Role.PROPERTY_MANAGER),
    Login("auditor", "Bexley", "Marrowstone", Role.AUDITOR),
)

# Arguments of program_settings: what the letters print. The numbers are of the range kept
# for fiction, the names end in .example (RFC 2606).
PROGRAM_SETTINGS = (
    *("--name", NAME),
    *("--letterhead-name", NAME),
    *("--letterhead-line", "Cross-connection control"),
    *("--letterhead-line", "1 Headgate Road, Tamarack Flats, WA 99171"),
    *("--phone", "(509) 555-0142"),
    *("--email", "backflow@tamarackflats.example"),
    *("--web", "tamarackflats.example"),
    *("--hours", "Monday to Friday, 8 to 4:30"),
    *("--state", "WA"),
)
