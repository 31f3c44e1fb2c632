"""Who is in a group or a decision, as pages and sheets show them: assemblies, and what premises
and services owe."""

from __future__ import annotations

import csv
from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from io import StringIO
from typing import Any, Final

from django.db.models import Count, F, QuerySet
from django.db.models.functions import Coalesce
from django.http import HttpResponse

from registry.batches import in_batches
from registry.domain.formula_guard import guarded
from registry.models import Assembly, Premises
from scheduling.domain.decisions import Decision as Told
from scheduling.domain.decisions import Subject
from scheduling.models import Decision, DecisionMember
from scheduling.queries.decided import due_dates
from scheduling.queries.group_places import (
    PlaceForeseen,
    PlaceMember,
    foreseen_at,
    named,
    places_in,
    service_words,
)
from scheduling.queries.groups import Foreseen, Wanted, digest_of, foreseen, group_of
from scheduling.views.desk import Desk

SHOWN: Final = 200
"""Assemblies, and premises and services, that a page shows."""


_WHERE: Final = ("assembly__premises", "assembly__state", "connection__premises", "premises")


@dataclass(frozen=True, kw_only=True)
class Member:
    """One assembly of a list: as it stands, and as it would stand."""

    assembly: Assembly
    now: Foreseen
    then: Foreseen | None

    @property
    def questions(self) -> list[str]:
        """What the decision would leave to a person, and nothing asks yet."""
        asked = self.then.questions if self.then else ()
        return [one for one in asked if one not in self.now.questions]


@dataclass(frozen=True, kw_only=True)
class MemberOfPlaces:
    """A premises or a service of a list: as it stands, and as it would stand."""

    place: PlaceMember
    premises: Premises
    now: PlaceForeseen
    then: PlaceForeseen | None

    @property
    def word(self) -> str:
        """How a form names it."""
        return self.place.subject.word

    @property
    def questions(self) -> list[str]:
        """What the decision would leave to a person, and nothing asks yet."""
        asked = self.then.questions if self.then else ()
        return [one for one in asked if one not in self.now.questions]


class Group:
    """Who is meant: the assemblies, and the premises and services that owe something."""

    def __init__(self, desk: Desk, wanted: Wanted) -> None:
        self._desk = desk
        self._assemblies: QuerySet[Assembly] = group_of(desk.program, wanted)
        self.ids: list[int] = list(self._assemblies.values_list("pk", flat=True))
        self.places = places_in(desk.program, wanted)

    @property
    def words(self) -> list[str]:
        """Each as a decision names its members."""
        return [*map(str, self.ids), *self._place_words]

    @property
    def _place_words(self) -> list[str]:
        return [one.subject.word for one in self.places]

    @property
    def digest(self) -> str:
        """What tells that the list is still the same."""
        return digest_of(self.words)

    @property
    def counted(self) -> str:
        """How many they are, in words."""
        surveys = sum(1 for one in self.places if one.service is None)
        return counted(len(self.ids), surveys, len(self.places) - surveys)

    def without(self, out: Collection[str], *, with_places: bool) -> tuple[str, ...]:
        """Return the members but those left out; without places where they cannot be meant."""
        words = self.words if with_places else list(map(str, self.ids))
        return tuple(word for word in words if word not in out)

    def members(self, told: Told | None) -> list[Member]:
        """The first assemblies, as they stand and would stand."""
        program, today = self._desk.program, self._desk.today
        shown = list(self._assemblies.select_related("premises", "connection")[:SHOWN])
        ids = [one.pk for one in shown]
        now = foreseen(program=program, ids=ids, decision=None, today=today)
        then = foreseen(program=program, ids=ids, decision=told, today=today) if told else {}
        return [Member(assembly=one, now=now[one.pk], then=then.get(one.pk)) for one in shown]

    def members_of_places(self, told: Told | None) -> list[MemberOfPlaces]:
        """The first premises and services, as they stand and would stand."""
        program, today, shown = self._desk.program, self._desk.today, self.places[:SHOWN]
        if not shown:
            return []
        sites = Premises.objects.in_bulk({one.premises_id for one in shown})
        now = foreseen_at(program=program, members=shown, decision=None, today=today)
        then = (
            foreseen_at(program=program, members=shown, decision=told, today=today) if told else {}
        )
        return [
            MemberOfPlaces(
                place=one,
                premises=sites[one.premises_id],
                now=now[one.subject],
                then=then.get(one.subject),
            )
            for one in shown
        ]

    def sheet(self) -> HttpResponse:
        """Everybody as CSV."""
        due: dict[Subject, Line] = {
            one.subject: (None, None, one.due_on, one.name) for one in self.places
        }
        subjects = [*(Subject("assembly", pk) for pk in self.ids), *due]
        return _sheet(self._desk, subjects, told=due, name="who-is-in-it")


@dataclass(frozen=True, kw_only=True)
class MemberShown:
    """One member of a decision: its name, where it is, and its due date now."""

    member: DecisionMember
    where: Premises
    name: str
    due_now: date | None


def counted(assemblies: int, premises: int, services: int) -> str:
    """`10 assemblies, 4 premises and 1 service`; what there is none of is left out."""
    parts = [
        f"{number:,} {one if number == 1 else many}"
        for number, one, many in (
            (assemblies, "assembly", "assemblies"),
            (premises, "premises", "premises"),
            (services, "service", "services"),
        )
        if number
    ]
    if not parts:
        return "0 assemblies"
    return " and ".join([", ".join(parts[:-1]), parts[-1]]) if len(parts) > 1 else parts[0]


def counted_in(row: Decision) -> str:
    """How many of each are in a decision, in words."""
    found = row.members.aggregate(a=Count("assembly"), p=Count("premises"), s=Count("connection"))
    return counted(found["a"], found["p"], found["s"])


def members_of(row: Decision) -> QuerySet[DecisionMember, Any]:
    """The members of a decision by address: assemblies, then services, then the premises."""
    rows = row.members.select_related(*_WHERE, "connection", "fact")
    address = Coalesce(
        "assembly__premises__address", "connection__premises__address", "premises__address"
    )
    return rows.order_by(address, F("assembly__serial").asc(nulls_last=True), "pk")


def shown_members(rows: Iterable[DecisionMember]) -> list[MemberShown]:
    """Return members with their names and what is due of them now; at most two queries more."""
    found = list(rows)
    due = due_dates(one.subject for one in found if one.assembly_id is None)
    return [
        MemberShown(member=one, where=one.where, name=name_of(one), due_now=_due_now(one, due))
        for one in found
    ]


def name_of(member: DecisionMember) -> str:
    """The serial of an assembly, else `Protection of the fire service`."""
    if member.assembly is not None:
        return member.assembly.serial
    service = member.connection
    words = None if service is None else service_words(service.kind, service.name)
    return named(member.what, service=words)


def _due_now(member: DecisionMember, due: dict[Subject, date | None]) -> date | None:
    if member.assembly is not None:
        return member.assembly.state.due_on if hasattr(member.assembly, "state") else None
    return due.get(member.subject)


Line = tuple[date | None, date | None, date | None, str]
"""Of a member: due before, due after, due now, and its name."""


def sheet_of(row: Decision, *, desk: Desk) -> HttpResponse:
    """Who is in a decision as CSV."""
    told: dict[Subject, Line] = {}
    rows = row.members.select_related("connection").order_by("pk")
    for one in rows.iterator(chunk_size=2000):
        name = "" if one.assembly_id is not None else name_of(one)
        told[one.subject] = (one.due_before, one.due_after, None, name)
    others = [subject for subject in told if subject.of != "assembly"]
    for subject, due in due_dates(others).items():
        before, after, _, name = told[subject]
        told[subject] = (before, after, due, name)
    return _sheet(desk, list(told), told=told, name=f"decision-{row.pk}")


def _sheet(
    desk: Desk, subjects: Sequence[Subject], *, told: dict[Subject, Line], name: str
) -> HttpResponse:
    """Write the sheet; cells are safe for a spreadsheet."""
    out = StringIO()
    sheet = csv.writer(out)
    head = ["serial", "maker", "type", "address", "city", "due_on", "before", "after", "owed"]
    sheet.writerow(head)
    sheet.writerows(_assembly_lines(desk, subjects, told=told))
    sheet.writerows(_place_lines(desk, subjects, told=told))
    answer = HttpResponse(out.getvalue(), content_type="text/csv; charset=utf-8")
    answer["Content-Disposition"] = f'attachment; filename="{name}.csv"'
    return answer


def _assembly_lines(
    desk: Desk, subjects: Sequence[Subject], *, told: dict[Subject, Line]
) -> Iterator[list[object]]:
    ids = [subject.pk for subject in subjects if subject.of == "assembly"]
    for some in in_batches(ids):
        found = Assembly.objects.filter(program=desk.program, pk__in=some)
        for one in found.select_related("premises", "state").order_by("pk"):
            now = one.state.due_on if hasattr(one, "state") else None
            before, after, *_ = told.get(Subject("assembly", one.pk), (None, None))
            cells = [one.serial, one.maker, one.type, one.premises.address, one.premises.city]
            yield [*map(guarded, cells), now or "", before or "", after or "", ""]


def _place_lines(
    desk: Desk, subjects: Sequence[Subject], *, told: dict[Subject, Line]
) -> Iterator[list[object]]:
    others = [subject for subject in subjects if subject.of != "assembly"]
    for some in in_batches(others):
        where = _addresses(desk, some)
        for subject in some:
            before, after, now, name = told[subject]
            cells = ["", "", "", *where[subject]]
            yield [*map(guarded, cells), now or "", before or "", after or "", guarded(name)]


def _addresses(desk: Desk, subjects: Sequence[Subject]) -> dict[Subject, tuple[str, str]]:
    found: dict[Subject, tuple[str, str]] = {}
    for of, key in (("premises", "pk"), ("connection", "connections__pk")):
        pks = [subject.pk for subject in subjects if subject.of == of]
        sites = Premises.objects.filter(program=desk.program, **{f"{key}__in": pks})
        for pk, address, city in sites.order_by().values_list(key, "address", "city"):
            found[Subject(of, pk)] = (address, city)
    return found
