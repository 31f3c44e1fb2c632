"""Pictures and scans that may show a person: no search looks into them, a person does."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from itertools import chain
from typing import Any
from zoneinfo import ZoneInfo

from django.db.models import Q, QuerySet

from registry.domain.kinds import PictureKind
from registry.models import PictureRemoval, Program
from registry.queries.removals import removals_of
from reports.erasing.people import PARTY, TESTER, Person, letters_to, sites_of
from reports.erasing.removing import KEPT

SHOWN = 60
"""Pictures of one list on a page."""

WORDS: Mapping[PictureKind, str] = {
    PictureKind.HANDED_OVER: "photo of a letter handed over",
    PictureKind.REPORT_PHOTO: "photo of a report",
    PictureKind.SCAN: "scanned report",
    PictureKind.SIGNATURE: "drawn signature",
}
UNKEYED = "unkeyed"
LISTS: Mapping[str, tuple[PictureKind, str]] = {
    UNKEYED: (PictureKind.SCAN, "Scans nobody has keyed"),
    "keyed": (PictureKind.SCAN, "Scans that were keyed"),
    "photos": (PictureKind.REPORT_PHOTO, "Photos of reports"),
    "handed-over": (PictureKind.HANDED_OVER, "Photos of letters handed over"),
    "signatures": (PictureKind.SIGNATURE, "Drawn signatures"),
}
_FIELDS: Mapping[PictureKind, tuple[str, str, str]] = {
    PictureKind.HANDED_OVER: ("delivery__letter__number", "stored_at", "delivery__letter"),
    PictureKind.REPORT_PHOTO: ("entry__receipt", "received_at", "entry"),
    PictureKind.SCAN: ("file_name", "received_at", "pk"),
    PictureKind.SIGNATURE: ("receipt", "received_at", "pk"),
}
_PAGES: Mapping[PictureKind, str] = {
    PictureKind.HANDED_OVER: "letter",
    PictureKind.REPORT_PHOTO: "enter-record",
    PictureKind.SCAN: "paper",
    PictureKind.SIGNATURE: "enter-record",
}
_TO_ENTRY: Mapping[PictureKind, str] = {
    PictureKind.REPORT_PHOTO: "entry__",
    PictureKind.SCAN: "entry__",
    PictureKind.SIGNATURE: "",
}
_OF_ENTRY = (
    *("receipt", "assembly__serial", "assembly__premises__address"),
    *("field_test__serial", "field_test__assembly__premises__address"),
)
_NAMED: Mapping[PictureKind, tuple[str, ...]] = {
    PictureKind.HANDED_OVER: (
        "delivery__letter__number",
        "delivery__letter__recipient__name",
        "delivery__letter__carried__notice__premises__address",
    ),
    PictureKind.REPORT_PHOTO: tuple(f"entry__{name}" for name in _OF_ENTRY),
    PictureKind.SCAN: ("file_name", *(f"entry__{name}" for name in _OF_ENTRY)),
    PictureKind.SIGNATURE: ("signed_name", "by", *_OF_ENTRY),
}
"""Where the words of a search are looked for."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Picture:
    """One picture or scan: what it is of, the day it came, its hash, and where it stands.

    `page` and `page_key` name the page it stands on; `removal` is set once its bytes are gone.
    The hash is of the bytes as they are kept, or of a scan as it came.
    """

    kind: PictureKind
    key: int
    about: str
    on: date
    sha256: str
    page_key: int
    removal: PictureRemoval | None

    @property
    def what(self) -> str:
        """The kind in words."""
        return WORDS[self.kind]

    @property
    def page(self) -> str:
        """The page on which it stands."""
        return _PAGES[self.kind]


def pictures_of(person: Person, *, program: Program) -> list[Picture]:
    """Return what was photographed, scanned or signed of or by a person, in its order.

    Of a party: of its letters and premises; of a tester or a user: what they handed in. A scan
    that nobody has keyed yet belongs to no premises and is not among them.
    """
    return list(chain.from_iterable(_found(person, program=program)))


def picture_of(program: Program, *, kind: PictureKind, pk: int) -> Picture | None:
    """Return one picture of a program, or None."""
    rows = KEPT[kind].rows(program).filter(pk=pk)
    return next(_told(rows, kind=kind, zone=ZoneInfo(program.zone)), None)


def unkeyed_scans(program: Program) -> int:
    """Return how many scans belong to no premises, for nobody has keyed them, and still stand."""
    rows = KEPT[PictureKind.SCAN].rows(program).filter(entry__isnull=True)
    return int(rows.exclude(pk__in=_gone(program, PictureKind.SCAN)).count())


def listed(program: Program, *, of: str, words: str, page: int) -> tuple[list[Picture], int]:
    """Return a page of one list, the newest first, and how many it has in all."""
    kind, _ = LISTS[of]
    rows = KEPT[kind].rows(program)
    if kind is PictureKind.SCAN:
        rows = rows.filter(entry__isnull=of == UNKEYED)
    if words.strip():
        named = Q(pk__in=[])
        for name in _NAMED[kind]:
            named |= Q(**{f"{name}__icontains": words.strip()})
        # Through a letter's notices a photo comes up once for each: asked for by number, once.
        rows = rows.filter(pk__in=rows.filter(named).order_by().values("pk"))
    total, first = rows.count(), (page - 1) * SHOWN
    some = rows.order_by(f"-{_FIELDS[kind][1]}", "-pk")[first : first + SHOWN]
    return list(_told(some, kind=kind, zone=ZoneInfo(program.zone))), total


def _found(person: Person, *, program: Program) -> Iterator[Iterator[Picture]]:
    zone = ZoneInfo(program.zone)
    if person.what == PARTY:
        kind = PictureKind.HANDED_OVER
        rows = KEPT[kind].rows(program).filter(delivery__letter__in=letters_to(person.row))
        yield _told(rows.order_by("pk"), kind=kind, zone=zone)
    for kind, way in _TO_ENTRY.items():
        rows = KEPT[kind].rows(program).filter(_by(person, way=way))
        yield _told(rows.order_by("pk"), kind=kind, zone=zone)


def _by(person: Person, *, way: str) -> Q:
    if person.what == PARTY:
        sites = sites_of(person.row)
        return Q(**{f"{way}assembly__premises__in": sites}) | Q(
            **{f"{way}field_test__assembly__premises__in": sites}
        )
    if person.what == TESTER:
        return Q(**{f"{way}field_test__tester": person.row})
    return Q(**{f"{way}person": person.row})


def _told(rows: QuerySet[Any], *, kind: PictureKind, zone: ZoneInfo) -> Iterator[Picture]:
    about, at, page_key = _FIELDS[kind]
    found = list(rows.values_list("pk", about, at, KEPT[kind].sha256, page_key))
    gone = removals_of(kind, (row[0] for row in found)) if found else {}
    for pk, name, moment, sha256, page in found:
        yield Picture(
            kind=kind,
            key=pk,
            about=name or f"number {pk}",
            on=moment.astimezone(zone).date(),
            sha256=sha256,
            page_key=page,
            removal=gone.get(pk),
        )


def _gone(program: Program, kind: PictureKind) -> Any:
    rows = PictureRemoval.objects.filter(program=program, what=kind)
    return rows.values("subject_id")
