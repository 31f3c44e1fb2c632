"""Pictures and scans that may show a person: no search looks into them, a person does."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any
from zoneinfo import ZoneInfo

from django.db.models import Q

from notices.models import HandoverPhoto
from registry.models import Program
from reports.erasing.people import PARTY, Person, letters_to, sites_of
from reports.models import EntryPhoto, Paper


@dataclass(frozen=True, slots=True, kw_only=True)
class Picture:
    """One picture or scan: what it is of, the day it came, its hash, and the page to look at it.

    `page` and `key` name that page; the hash is of the bytes as they are kept, or of a scan as it
    came.
    """

    what: str
    about: str
    on: date
    sha256: str
    page: str
    key: int


def pictures_of(person: Person, *, program: Program) -> list[Picture]:
    """Return what was photographed or scanned of a party's letters and premises, in its order.

    A scan that nobody has keyed yet belongs to no premises and is not among them.
    """
    if person.what != PARTY:
        return []
    zone = ZoneInfo(program.zone)
    return [*_handed_over(person.row, zone=zone), *_of_reports(person.row, zone=zone)]


def _handed_over(party: Any, *, zone: ZoneInfo) -> Iterator[Picture]:
    photos = HandoverPhoto.objects.filter(delivery__letter__in=letters_to(party)).order_by("pk")
    for pk, number, at, sha256 in photos.values_list(
        "pk", "delivery__letter__number", "stored_at", "sha256"
    ):
        yield Picture(
            what="photo of a letter handed over", about=number, on=_day(at, zone=zone),
            sha256=sha256, page="handover-photo", key=pk,
        )  # fmt: skip


def _of_reports(party: Any, *, zone: ZoneInfo) -> Iterator[Picture]:
    sites = sites_of(party)
    at_sites = Q(entry__assembly__premises__in=sites) | Q(
        entry__field_test__assembly__premises__in=sites
    )
    scans = Paper.objects.filter(at_sites, program=party.program).order_by("pk")
    for pk, name, at, sha256 in scans.values_list("pk", "file_name", "received_at", "sha256"):
        yield Picture(
            what="scanned report", about=name, on=_day(at, zone=zone), sha256=sha256,
            page="paper", key=pk,
        )  # fmt: skip
    photos = EntryPhoto.objects.filter(
        at_sites, entry__program=party.program, entry__field_test__isnull=False
    ).order_by("pk")
    for test, receipt, at, sha256 in photos.values_list(
        "entry__field_test_id", "entry__receipt", "received_at", "sha256"
    ):
        yield Picture(
            what="photo of a report", about=receipt, on=_day(at, zone=zone), sha256=sha256,
            page="field-test", key=test,
        )  # fmt: skip


def _day(at: datetime, *, zone: ZoneInfo) -> date:
    return at.astimezone(zone).date()
