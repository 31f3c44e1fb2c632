"""What new reports found besides their readings is asked about, and unknown assemblies proposed."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from registry.batches import in_batches
from registry.changes import Hand
from registry.models import Assembly, LoadBatch, Program, Question
from reports.domain.assessing import Assessed
from reports.domain.findings import findings_of
from reports.models import FieldTest, FoundAssembly

CHUNK = 500


def ask_about_visits(
    *, program: Program, batch: LoadBatch, assessed: Sequence[Assessed], on: date
) -> None:
    """Ask once about each finding of the new reports of a batch; call it inside a transaction.

    A report whose assembly nobody knows is proposed as an assembly found in the field.
    """
    noted = [
        (one, found)
        for one in assessed
        if (found := list(findings_of(one))) or one.assembly is None
    ]
    if not noted:
        return
    rows = dict(FieldTest.objects.filter(batch=batch).values_list("digest", "pk"))
    digests = {id(one): one.report.digest() for one, _ in noted}
    premises = _premises([one for one, _ in noted])
    questions = [
        Question(
            program=program,
            key=f"visit:{digests[id(one)]}:{finding.kind}"[:200],
            kind=finding.kind[:60],
            assembly_id=one.assembly.assembly_id if one.assembly else None,
            premises_id=premises.get(one.assembly.assembly_id) if one.assembly else None,
            text=finding.text[:500],
            detail={"field_test": rows.get(digests[id(one)])},
            raised_on=on,
        )
        for one, found in noted
        for finding in found
    ]
    Question.objects.bulk_create(questions, batch_size=CHUNK, ignore_conflicts=True)
    proposed = [
        FoundAssembly(
            program=program,
            field_test_id=rows[digests[id(one)]],
            stated=_stated(one),
            raised_on=on,
        )
        for one, _ in noted
        if one.assembly is None and digests[id(one)] in rows
    ]
    FoundAssembly.objects.bulk_create(proposed, batch_size=CHUNK, ignore_conflicts=True)


def settle_known(tests: Sequence[FieldTest], *, hand: Hand) -> None:
    """Settle the finds whose assembly the registry has come to hold since."""
    known = [test.pk for test in tests if test.assembly_id is not None]
    for some in in_batches(known, size=CHUNK):
        for found in FoundAssembly.objects.filter(field_test__in=some, settled_at__isnull=True):
            found.settled_at, found.settled_by, found.settled_how = hand.at, hand.by, "known"
            found.assembly_id = found.field_test.assembly_id
            found.save(update_fields=["settled_at", "settled_by", "settled_how", "assembly"])


def _stated(one: Assessed) -> dict[str, str]:
    report = one.report
    said = {
        "serial": report.serial,
        "maker": report.maker,
        "type": report.stated_type,
        "installed": report.visit.installed,
        "old_serial": report.visit.old_serial,
        **report.visit.place,
    }
    return {name: text for name, text in said.items() if text}


def _premises(assessed: Sequence[Assessed]) -> dict[int, int]:
    ids = sorted({one.assembly.assembly_id for one in assessed if one.assembly})
    found: dict[int, int] = {}
    for some in in_batches(ids, size=CHUNK):
        rows = Assembly.objects.filter(pk__in=some).values_list("pk", "premises_id")
        found.update(dict(rows))
    return found
