"""Every address of the site, found by walking its patterns, filled in for one office."""

from __future__ import annotations

import csv
from collections.abc import Iterator
from pathlib import Path

from django.urls import URLPattern, URLResolver, get_resolver, reverse

from tests.access.after_rows import token_of_certificate
from tests.access.cast import ROLES, Office

MATRIX = Path(__file__).parent / "matrix.csv"

# The kind of row each address shows; addresses without a row of their own are left out.
SHOWS = {
    "air-gap": "assembly",
    "calibration-file": "calibration",
    "calibration-new": "gauge",
    "calibration-strike": "calibration",
    "field-test-mend": "test",
    "field-test-methods": "test",
    "field-test-replaced": "test",
    "field-test-strike": "test",
    "found-one": "found",
    "gauge": "gauge",
    "method-change": "own method",
    "term-end": "term",
    "term-new": "tester",
    "tester": "tester",
    "certificate-make": "counted",
    "appointment-called": "told",
    "round-bring": "round",
    "round-promise": "round",
    "round-call": "premises",
    "erase-person": "party",
    "erase-picture": "paper",
    "erase-picture-file": "paper",
    "firm-change": "firm",
    "firm-letter": "firm letter",
    "round-firm": "firm",
    "round-job-cancel": "job",
    "round-job-new": "premises",
    "round-tester": "tester",
    "round-wish-end": "wish",
    "round-wishes": "premises",
    "round-service-sheets": "round",
    "service-sheet": "assembly",
    "certificate-pdf": "certificate",
    "owner-certificate": "certificate",
    "assembly": "assembly",
    "assembly-change": "assembly",
    "assembly-letters": "assembly",
    "assembly-new": "premises",
    "busy-forget": "busy calendar",
    "calendar-revoke": "feed",
    "connection-change": "connection",
    "decision": "decision",
    "decision-end": "decision",
    "decision-carry-on": "decision",
    "decision-review": "decision",
    "delivery-decide": "delivery",
    "delivery-left": "delivery",
    "delivery-delivered": "delivery",
    "enter-assembly": "assembly",
    "enter-picture": "picture",
    "enter-record": "entry",
    "evidence": "premises",
    "fact-new": "assembly",
    "fact-withdraw": "fact",
    "field-test": "test",
    "field-test-settle": "test",
    "field-test-take": "test",
    "gauge-change": "gauge",
    "letter": "letter",
    "letter-error": "letter",
    "letters-returned-settle": "returned",
    "contacts": "premises",
    "contacts-withdraw": "contact",
    "delivery-photo": "delivery",
    "handover-photo": "photo",
    "objection": "objection",
    "objection-new": "premises",
    "levelling-undo": "levelling",
    "letter-pdf": "letter",
    "load-batch": "batch",
    "load-to-mend": "batch",
    "mail-lift": "stop",
    "letter-gathering": "party",
    "letters-move-back": "move",
    "quiet-drop": "quiet",
    "letter-run": "paper run",
    "letter-run-csv": "paper run",
    "letter-run-mailed": "paper run",
    "letter-run-not-mailed": "paper run",
    "letter-run-numbers": "paper run",
    "letter-run-pdf": "paper run",
    "letter-run-spoiled": "paper run",
    "merge-undo": "merge",
    "order": "order",
    "order-sign": "order",
    "own-form": "own form",
    "own-form-drop": "own form",
    "own-form-filled": "own form",
    "own-form-period": "own form",
    "paper": "paper",
    "paper-aside": "paper",
    "paper-file": "paper",
    "paper-key": "paper",
    "paper-page": "paper",
    "paper-settle": "paper",
    "paper-spot": "paper",
    "part-connection-new": "premises",
    "part-party-change": "party",
    "part-party-name": "premises",
    "premises": "premises",
    "premises-change": "premises",
    "premises-owed": "premises",
    "questions-settle": "question",
    "round": "round",
    "round-geojson": "round",
    "round-gpx": "round",
    "round-sheet": "round",
    "round-stop": "stop",
    "stop-outcome": "stop",
    "round-undo": "plan-change",
    "rulebook-draft": "draft",
    "emergency-order": "premises",
    "fee-settle": "fee",
    "fees": "premises",
    "service-fact": "connection",
    "shutoff": "shutoff",
    "shutoff-answer-strike": "answer",
    "shutoff-answers": "premises",
    "shutoff-call-off": "shutoff",
    "shutoff-proof": "shutoff",
    "shutoff-work": "shutoff",
    "work-order-done": "work order",
    "work-order-pdf": "work order",
    "premises-fact": "premises",
    "survey-new": "premises",
    "rulebook-draft-act": "draft",
    "rulebook-draft-enforce": "draft",
    "rulebook-draft-gap": "draft",
    "rulebook-draft-head": "draft",
    "rulebook-draft-rule": "draft",
    "rulebook-edition": "edition",
    "rulebook-take-back": "adoption",
    "rulebook-toml": "edition",
    "tester-change": "tester",
    "tests-batch": "tests batch",
    "tests-batch-rest": "tests batch",
    "tests-batch-take-back": "tests batch",
}


# What stands in an address besides the program and the row.
BESIDES: dict[str, dict[str, object]] = {
    "erase-person": {"what": "party"},
    "erase-picture": {"kind": "scanned-report"},
    "erase-picture-file": {"kind": "scanned-report"},
    "own-form-filled": {"test": 987654},
    "paper-page": {"number": 1},
    "tests-batch-rest": {"extension": "csv"},
    "tests-load-bring-in": {"token": "x" * 32},
    "tests-load-columns": {"token": "x" * 32},
    "tests-load-look": {"token": "x" * 32},
    "tests-load-rest": {"token": "x" * 32, "extension": "xlsx"},
    "tests-template": {"kind": "RP", "extension": "csv"},
    "calendar-feed": {"secret": "secret-of-flats"},
    "rulebook-shipped": {"name": "plain-season"},
    "rulebook-shipped-toml": {"name": "plain-season"},
    "rulebook-draft-gap": {"place": 1},
    "rulebook-draft-rule": {"part": "cycle", "place": 1},
    "look-css": {"colour": "0a5a84"},
    "look-logo": {"sha256": "0" * 64},
    "wording": {"work": "test", "kind": "reminder", "language": "en"},
    "wording-preview": {"work": "test", "kind": "reminder", "language": "en"},
    "wording-preview-pdf": {"work": "test", "kind": "reminder", "language": "en"},
}


def names_of_patterns() -> set[str]:
    """The name of every pattern; one without a name is told by its route."""
    return {name or f"unnamed {route}" for name, route in _patterns(get_resolver().url_patterns)}


def _patterns(found: list[URLPattern | URLResolver]) -> Iterator[tuple[str, str]]:
    for one in found:
        if isinstance(one, URLResolver):
            yield from _patterns(one.url_patterns)
        else:
            yield one.name or "", str(one.pattern)


def rows_of_matrix() -> list[tuple[str, str, dict[str, int]]]:
    """Name, method, and the status each role gets."""
    lines = [line for line in MATRIX.read_text().splitlines() if not line.startswith("#")]
    return [
        (row["name"], row["method"], {role: int(row[role]) for role in ROLES})
        for row in csv.DictReader(lines)
    ]


def address(name: str, office: Office, *, rows_of: Office | None = None) -> str:
    """The address of a name in an office; `rows_of` another office for its rows' numbers."""
    kwargs: dict[str, object] = dict(BESIDES.get(name, {}))
    if name in {"owner-page", "owner-say", "owner-reminders"} or name.startswith("owner-cert"):
        kwargs["token"] = office.token
    elif name == "certificate-page":
        kwargs["token"] = token_of_certificate(office.ids["certificate"])
    elif is_of_a_program(name):
        kwargs["code"] = office.program.code
    if name in SHOWS:
        kwargs["pk"] = (rows_of or office).ids[SHOWS[name]]
    if name == "enter-blank":
        kwargs["kind"] = "RP"
    if name in {"load-preview", "load-bring-in", "load-line"}:
        kwargs["token"] = "x" * 32
    return reverse(name, kwargs=kwargs)


def is_of_a_program(name: str) -> bool:
    """Whether an address stands under a program."""
    public = {
        "home",
        "calendar-feed",
        "enter-worker",
        "login",
        "logout",
        "yourself",
        "look",
        "healthz",
        "mail-bounces",
        "certificate-page",
        "owner-certificate",
        "owner-certificates",
        "owner-page",
        "owner-code",
        "owner-reminders",
        "owner-say",
        "look-css",
        "look-logo",
    }
    return name not in public
