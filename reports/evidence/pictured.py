"""Photos, scans and signatures of a case, by their hashes, and which of them were removed."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any
from zoneinfo import ZoneInfo

from django.db.models import Q

from notices.models import Letter
from registry.domain.kinds import PictureKind
from registry.models import Assembly, PictureRemoval, Premises
from registry.queries.removals import removals_of
from reports.domain.evidence import Event
from reports.erasing.removing import KEPT
from reports.evidence.happenings import AFTER_ALL

SAID: Mapping[PictureKind, str] = {
    PictureKind.HANDED_OVER: "A photo of letter {about} as it was handed over",
    PictureKind.REPORT_PHOTO: "A photo that came with the report",
    PictureKind.SCAN: "The report as it came on paper",
    PictureKind.SIGNATURE: "The signature drawn under the report",
}
_STEPS: Mapping[PictureKind, int] = {PictureKind.HANDED_OVER: 10}
"""The place within a day: a photo of a letter after the letter has left."""
_FIELDS: Mapping[PictureKind, tuple[str, str, str]] = {
    PictureKind.HANDED_OVER: ("delivery__letter__number", "stored_at", "taken_by"),
    PictureKind.REPORT_PHOTO: ("entry__field_test__serial", "received_at", "entry__by"),
    PictureKind.SCAN: ("entry__field_test__serial", "received_at", "by"),
    PictureKind.SIGNATURE: ("field_test__serial", "received_at", "by"),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class _Kept:
    """One picture as it is on record."""

    kind: PictureKind
    about: str
    on: date
    by: str
    sha256: str


def picture_events(
    premises: Premises, *, assemblies: Sequence[Assembly], letters: Sequence[Letter]
) -> Iterator[Event]:
    """Return when each came, with its hash; where it was removed, when, by whom and why."""
    zone = ZoneInfo(premises.program.zone)
    for kind, rows in _rows(premises, assemblies=assemblies, letters=letters):
        found = list(rows.order_by("pk").values_list("pk", *_FIELDS[kind], KEPT[kind].sha256))
        gone = removals_of(kind, (row[0] for row in found)) if found else {}
        for pk, about, at, by, sha256 in found:
            yield from _told(
                _Kept(kind=kind, about=about or "", on=_day(at, zone), by=by, sha256=sha256),
                removal=gone.get(pk),
                zone=zone,
            )


def _told(kept: _Kept, *, removal: PictureRemoval | None, zone: ZoneInfo) -> Iterator[Event]:
    said = SAID[kept.kind].format(about=kept.about)
    about = "" if kept.kind is PictureKind.HANDED_OVER else kept.about
    digest = f"SHA-256 {kept.sha256[:16]}\u2026"
    yield Event(
        on=kept.on,
        what=f"{said} was kept.",
        about=about,
        by=kept.by,
        ground=f"its bytes: {digest}",
        step=_STEPS.get(kept.kind, 0),
    )
    if removal is not None:
        yield Event(
            on=_day(removal.at, zone),
            what=f"{said} was removed; its hash is kept.",
            about=about,
            by=removal.by,
            ground=f"{removal.reason.rstrip('.')}. {digest}",
            step=AFTER_ALL,
        )


def _rows(
    premises: Premises, *, assemblies: Sequence[Assembly], letters: Sequence[Letter]
) -> Iterator[tuple[PictureKind, Any]]:
    program, mine = premises.program, [one.pk for one in assemblies]
    for kind, kept in KEPT.items():
        rows = kept.rows(program)
        if kind is PictureKind.HANDED_OVER:
            yield kind, rows.filter(delivery__letter__in=[one.pk for one in letters])
            continue
        way = "" if kind is PictureKind.SIGNATURE else "entry__"
        at_site = Q(**{f"{way}assembly__in": mine}) | Q(**{f"{way}field_test__assembly__in": mine})
        yield kind, rows.filter(at_site)


def _day(at: datetime, zone: ZoneInfo) -> date:
    return at.astimezone(zone).date()
