"""What of visits, tests and credentials needs a person: dangers, doubts, lapses."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import date
from typing import Any, Final, NamedTuple
from urllib.parse import urlencode

from django.db.models import Count, Min, Q

from registry.models import Program, Question
from reports.domain.findings import DANGER
from reports.models import FieldTest, FoundAssembly
from reports.queries.lapsing import lapsing
from reports.queries.needs import Need

MOST_DANGERS: Final = 4


class Example(NamedTuple):
    """What a question says, about whom, and the page of that one, as `Need` takes them."""

    detail: str
    about: str
    about_at: tuple[str, int] | None


def questions_by_kind(program: Program) -> Any:
    """Open questions counted by kind, each with its oldest day and first row, oldest first."""
    return (
        Question.objects.filter(program=program, settled_at__isnull=True)
        .values("kind")
        .annotate(n=Count("pk"), oldest=Min("raised_on"), first=Min("pk"))
        .order_by("oldest", "kind")
    )


def examples_of(rows: Iterable[Mapping[str, Any]]) -> dict[int, Example]:
    """The first question of each kind: what it says, about whom, and that one's page."""
    asked = Question.objects.select_related("assembly", "premises").in_bulk(
        [row["first"] for row in rows]
    )
    return {pk: _example(one) for pk, one in asked.items()}


def _example(one: Question) -> Example:
    about, about_at = "", None
    if one.assembly is not None:
        about, about_at = one.assembly.serial, ("assembly", one.assembly.pk)
    elif one.premises is not None:
        about, about_at = str(one.premises), ("premises", one.premises.pk)
    return Example(one.text[:140], about, about_at)


def dangers(program: Program) -> list[Need]:
    """What may leave the drinking water unprotected now stands before everything else."""
    rows = questions_by_kind(program).filter(kind__startswith=DANGER)[:MOST_DANGERS]
    examples = examples_of(rows)
    return [
        Need(
            count=row["n"],
            what=f"{row['kind'].capitalize()}",
            **examples[row["first"]]._asdict(),
            since=row["oldest"],
            act="Look today",
            page="questions",
            query="?" + urlencode({"kind": row["kind"]}),
        )
        for row in rows
    ]


def found_in_field(program: Program) -> Need | None:
    """Assemblies that reports name and nobody knows."""
    found = FoundAssembly.objects.filter(program=program, settled_at__isnull=True).aggregate(
        n=Count("pk"), oldest=Min("raised_on")
    )
    if not found["n"]:
        return None
    return Need(
        count=found["n"],
        what="Found in the field" if found["n"] == 1 else "Found in the field, not here",
        detail="Named by a report, and not in the registry: new, a replacement, or misread.",
        since=found["oldest"],
        act="Say what it is",
        page="found",
    )


def doubtful_tests(program: Program) -> Need | None:
    """Field tests that wait for a person, and why."""
    found = FieldTest.objects.filter(program=program, waits_for_person=True).aggregate(
        n=Count("pk"),
        oldest=Min("tested_on"),
        unknown=Count("pk", filter=Q(assembly__isnull=True)),
        failing=Count("pk", filter=Q(outcome="fail", counts=False, assembly__isnull=False)),
        passing=Count("pk", filter=Q(outcome="pass", counts=False, assembly__isnull=False)),
        later=Count("pk", filter=~Q(later_doubts=[])),
        hindered=Count("pk", filter=~Q(hindrance="") & Q(assembly__isnull=False)),
    )
    if not found["n"]:
        return None
    rest = found["n"] - found["unknown"] - found["failing"]
    rest -= found["later"] + found["hindered"] + found["passing"]
    parts = [
        f"{found['failing']:,} fail but do not count" if found["failing"] else "",
        f"{found['passing']:,} pass but do not count" if found["passing"] else "",
        f"{found['unknown']:,} name no assembly of the registry" if found["unknown"] else "",
        f"{found['later']:,} counted and are in doubt since" if found["later"] else "",
        f"{found['hindered']:,} could not be tested" if found["hindered"] else "",
        f"{rest:,} do not count for another reason" if rest > 0 else "",
    ]
    return Need(
        count=found["n"],
        what="Field test waits for you" if found["n"] == 1 else "Field tests wait for you",
        detail="; ".join(part for part in parts if part) + ".",
        since=found["oldest"],
        act="Decide",
        page="field-tests",
        query="?waiting=yes",
    )


def lapsing_soon(program: Program, *, today: date) -> Need | None:
    """Certificates and gauges of accepted testing companies that lapse within thirty days."""
    found = [one for one in lapsing(program, today=today) if not one.has_passed(today)]
    if not found:
        return None
    testers = sum(one.what == "certificate" for one in found)
    kits = len(found) - testers
    parts = [
        f"{testers:,} certificate{'s' if testers > 1 else ''}" if testers else "",
        f"{kits:,} gauge{'s' if kits > 1 else ''}, calibrated nearly a year ago" if kits else "",
    ]
    return Need(
        count=len(found),
        what="Lapses within 30 days" if len(found) == 1 else "Lapse within 30 days",
        detail="; ".join(part for part in parts if part) + ".",
        since=None,
        act="Look",
        page="lapses",
    )
