"""A report that was refused, mended and sent again: both versions stay and know each other."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from datetime import date

from django.db import transaction

from registry.changes import Hand
from registry.models import Program
from registry.sheets import Record, Sheet
from reports.actions.deciding import DecisionError
from reports.actions.fieldtests import LoadedFile, load_field_tests
from reports.models import FieldTest, FoundAssembly
from reports.queries.kept_reports import kept_headers
from scheduling.actions.facts import withdraw_facts
from scheduling.actions.replaying import replay_assemblies


class StillFaultyError(ValueError):
    """A mended report that cannot be read; `faults` are pairs of column and what to do."""

    def __init__(self, faults: list[tuple[str, str]]) -> None:
        super().__init__("; ".join(message for _, message in faults))
        self.faults = faults


@transaction.atomic
def mend_field_test(
    *, program: Program, test_id: int, cells: Mapping[str, str], as_of: date, hand: Hand
) -> FieldTest:
    """Send a report again with some cells changed; the version before stays whole.

    Only a report that does not count, or found no test, is mended: what counts is first taken
    out of the count. Raises DecisionError, and StillFaultyError where it cannot be read.
    """
    old = FieldTest.objects.select_for_update().filter(program=program, pk=test_id).first()
    if old is None:
        raise DecisionError(field="test", message="This program has no such report.")
    if old.counts and not old.hindrance:
        message = "This report counts. Take it out of the count before it is mended."
        raise DecisionError(field="test", message=message)
    new = _sent_again(old, program=program, cells=cells, as_of=as_of, hand=hand)
    if new.pk == old.pk:
        raise DecisionError(field="cells", message="Nothing was changed: it is the same report.")
    if new.mends_id is None:
        new.mends = old
        new.save(update_fields=["mends"])
    _withdraw_visit(old, as_of=as_of, hand=hand)
    old.waits_for_person = False
    old.decided_at, old.decided_by = hand.at, hand.by
    old.decision = f"Mended and sent again as report {new.pk}."
    old.save(update_fields=["waits_for_person", "decided_at", "decided_by", "decision"])
    FoundAssembly.objects.filter(field_test=old, settled_at__isnull=True).update(
        settled_at=hand.at, settled_by=hand.by, settled_how="mended"
    )
    return new


def _withdraw_visit(old: FieldTest, *, as_of: date, hand: Hand) -> None:
    """The visit that found no test is told anew by the mended report."""
    if old.fact_id is None:
        return
    old.counts = False
    old.save(update_fields=["counts"])
    touched = withdraw_facts(
        program=old.program,
        fact_ids=[old.fact_id],
        at=hand.at,
        reason="its report was mended and sent again",
        by=hand.by,
    )
    replay_assemblies(program=old.program, assembly_ids=touched, as_of=as_of)


def _sent_again(
    old: FieldTest, *, program: Program, cells: Mapping[str, str], as_of: date, hand: Hand
) -> FieldTest:
    headers = kept_headers(old)
    told = {name: str(cells.get(name, old.cells[name]) or "") for name in headers}
    sheet = Sheet(headers=tuple(headers), records=(Record(row=2, cells=tuple(told.values())),))
    if not told:
        raise DecisionError(field="cells", message="No cell of this report is kept.")
    digest = hashlib.sha256(json.dumps(told, sort_keys=True).encode()).hexdigest()
    loaded = load_field_tests(
        program=program,
        sheet=sheet,
        file=LoadedFile(name=f"report {old.pk}, mended", sha256=digest),
        method=None,
        as_of=as_of,
        hand=hand,
    )
    if loaded.rejected:
        raise StillFaultyError([(one.column or "", one.message) for one in loaded.rejected])
    (assessed,) = loaded.assessed
    return FieldTest.objects.get(program=program, digest=assessed.report.digest())
