"""Certified numbers come back to a paper run: typed, scanned, or on its list from a mail house."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, field

from django.db import transaction

from notices.actions.clocks import locked_clock
from notices.domain.paper_runs import (
    NumberLine,
    is_miswritten,
    is_number_list,
    numbers_of,
    read_numbers,
)
from notices.models import Delivery, Letter, PaperRun
from registry.changes import Hand, record_change
from registry.console import Refused
from registry.sheets import UnreadableSheetError, parse_sheet

_DOUBT = "{number} is kept, but its last figure does not fit the others. Compare it with the label."


@dataclass(slots=True)
class Numbers:
    """What became of certified numbers: how many were kept, and each fault by its row.

    `doubts` were kept, and a person should look at them again.
    """

    kept: int = 0
    faults: list[tuple[int, str]] = field(default_factory=list)
    doubts: list[tuple[int, str]] = field(default_factory=list)


def typed_numbers(text: str) -> list[NumberLine]:
    """Read what was typed or pasted: numbers a line each, or the run's list with its heads."""
    first = next((line for line in text.splitlines() if line.strip()), "")
    if not is_number_list(re.split(r"[,;\t]", first.replace('"', ""))):
        return read_numbers(text)
    return listed_numbers(text.encode(), name="What was pasted")


def listed_numbers(data: bytes, *, name: str) -> list[NumberLine]:
    """Read the run's list as a mail house sends it back, CSV or XLSX; Refused when it is none."""
    try:
        sheet = parse_sheet(data=data, name=name)
    except UnreadableSheetError as error:
        raise Refused(str(error)) from error
    if not is_number_list(sheet.headers):
        raise Refused(
            f"{name} has no column “certified number” beside “letter” or “place”. Send the list of "
            "this run back with that column filled."
        )
    return numbers_of(sheet.named())


def keep_numbers(run: PaperRun, *, lines: Sequence[NumberLine], hand: Hand) -> Numbers:
    """Keep certified numbers, each with its letter of the run by its number, else its place."""
    done = Numbers()
    with transaction.atomic():
        locked_clock(run.program)
        rows = list(Delivery.objects.filter(run=run).select_related("letter").order_by("place"))
        by_place = {row.place: row for row in rows}
        by_number = {row.letter.number: row for row in rows}
        used = _used_numbers(run)
        kept: dict[int, Delivery] = {}
        for line in lines:
            row = by_number.get(line.letter) if line.letter else by_place.get(line.place)
            fault = line.fault or _why_not(row, tracking=line.tracking, used=used, run=run)
            if fault or row is None:
                done.faults.append((line.row, fault))
                continue
            if is_miswritten(line.tracking):
                done.doubts.append((line.row, _DOUBT.format(number=line.tracking)))
            used[line.tracking] = row.letter.number
            row.tracking = row.letter.tracking = line.tracking
            kept[row.pk] = row
            done.kept += 1
        if kept:
            Delivery.objects.bulk_update(kept.values(), ["tracking"], batch_size=500)
            letters = [row.letter for row in kept.values()]
            Letter.objects.bulk_update(letters, ["tracking"], batch_size=500)
            record_change(
                hand=hand,
                what="paper run",
                subject_id=run.pk,
                label=f"run {run.number}",
                before={},
                after={"certified_numbers": done.kept},
                program=run.program,
            )
    return done


def _used_numbers(run: PaperRun) -> dict[str, str]:
    rows = Delivery.objects.filter(letter__program=run.program).exclude(tracking="")
    return dict(rows.values_list("tracking", "letter__number"))


def _why_not(row: Delivery | None, *, tracking: str, used: dict[str, str], run: PaperRun) -> str:
    if row is None:
        return f"Run {run.number} has no such letter."
    holder = used.get(tracking)
    if holder is not None and holder != row.letter.number:
        return f"{tracking} is the number of letter {holder} already."
    return ""
