"""Columns of a sheet that nobody recognised: what each may have been meant to be, and saying so."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass

from django.db import transaction
from rapidfuzz import fuzz, process

from registry.changes import Hand, record_change
from registry.domain.headers import header_key
from registry.models import Program, SavedHeader
from reports.domain.entry_items import ITEMS
from reports.domain.own_form_fields import OUR_FIELDS
from reports.domain.readings import ReadingName
from reports.domain.report_columns import ReportField, recognise
from reports.queries.sheet_headers import WHAT

NEAR_ENOUGH = 80
LEAVE_OUT = "leave out"


@dataclass(frozen=True, kw_only=True)
class UnreadColumn:
    """A column that is kept and not judged, and the header it may have been meant to be."""

    header: str
    meant: str


def meanings() -> list[tuple[str, str]]:
    """What a column can be said to hold: the name that is kept, and its words."""
    fields = [(one.value, one.value.replace("_", " ").capitalize()) for one in ReportField]
    readings = [
        (name, OUR_FIELDS[name].label)
        for part in ("initial", "final")
        for name in (f"{part}_{one.value}" for one in ReadingName)
    ]
    return [*fields, *readings]


def unread_columns(headers: Sequence[str]) -> list[UnreadColumn]:
    """Columns with the nearest spelling of one we know: "Serail" may be "Serial"."""
    return [UnreadColumn(header=one, meant=_meant(one)) for one in headers]


def hint_of(headers: Sequence[str]) -> str:
    """The hints for all headers of a sheet that cannot be read for want of a column."""
    strange = recognise(headers, saved={}).strange
    told = [(one, _meant(one)) for one in strange]
    return " ".join(f"“{one}” may be “{meant}”: rename it." for one, meant in told if meant)


def _known() -> dict[str, str]:
    found = {header_key(item.header): item.header for item in ITEMS.values()}
    for part in ("Initial", "Final"):
        for one in ReadingName:
            header = f"{part} {one.value.replace('_', ' ')}"
            found[header_key(header)] = header
    return found


def _meant(header: str) -> str:
    known = _known()
    key = header_key(header)
    if len(key) < 4 or key in known:
        return ""
    found = process.extractOne(key, list(known), scorer=fuzz.ratio, score_cutoff=NEAR_ENOUGH)
    return known[found[0]] if found else ""


@transaction.atomic
def keep_meanings(
    *, program: Program, said: Mapping[str, str], among: Collection[str], hand: Hand
) -> int:
    """Keep what columns of the program's sheets hold, by header; the next file needs no telling.

    `said` gives a meaning by header, or LEAVE_OUT; headers not `among` the sheet's are passed
    over. Returns how many were kept.
    """
    known = dict(meanings())
    kept: dict[str, str] = {}
    for header, meaning in said.items():
        if header in among and (meaning in known or meaning == LEAVE_OUT):
            field = "" if meaning == LEAVE_OUT else meaning
            SavedHeader.objects.update_or_create(
                program=program, what=WHAT, header=header_key(header), defaults={"field": field}
            )
            kept[header] = field
    if kept:
        record_change(
            hand=hand,
            what="columns of test sheets",
            subject_id=program.pk,
            label=program.code,
            before={},
            after=kept,
            program=program,
        )
    return len(kept)
