"""Which reports of a batch are new, which are on record, and the rows that keep them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from registry.batches import in_batches
from registry.changes import Hand
from registry.models import LoadBatch, Program
from reports.domain.assessing import Assessed
from reports.domain.readings import Reading, ReadingName
from reports.domain.report_rows import FieldReport
from reports.domain.verdicts import plain_reading
from reports.domain.visits import CAUSE_WORDS, Cause, hindrance_of
from reports.models import FieldTest
from scheduling.actions.facts import NewFact
from scheduling.domain.facts import FactKind
from scheduling.models import Fact

SOURCE = "field test"
CHUNK = 500


class StoredTests:
    """A weighed batch beside what is stored; made before anything is written."""

    def __init__(self, *, program: Program, assessed: Sequence[Assessed]) -> None:
        self._program = program
        self._digests = {one.report.row: one.report.digest() for one in assessed}
        known = _on_record(program=program, digests=list(self._digests.values()))
        self.new: list[Assessed] = []
        self.moved: list[tuple[FieldTest, Assessed]] = []
        again: set[int] = set()
        seen: set[str] = set()
        for one in assessed:
            digest = self._digests[one.report.row]
            row = known.get(digest)
            if row is None and digest not in seen:
                self.new.append(one)
            else:
                again.add(one.report.row)
            if row is not None and digest not in seen and _moves(row, one):
                self.moved.append((row, one))
            seen.add(digest)
        self.again_rows = frozenset(again)

    def facts(self) -> list[NewFact]:
        """The facts that the new reports bring, and the old ones that count only now."""
        assessed = [*self.new, *(one for _, one in self.moved)]
        return [
            fact
            for one in assessed
            if (fact := fact_of(one, digest=self._digests[one.report.row])) is not None
        ]

    def keep(self, *, batch: LoadBatch, hand: Hand, facts: Mapping[str, Fact]) -> None:
        """Write the new reports, and what changed about the old ones."""
        rows = [
            FieldTest(
                program=self._program,
                digest=self._digests[one.report.row],
                batch=batch,
                recorded_at=hand.at,
                by=hand.by,
                fact=facts.get(self._digests[one.report.row]),
                **_as_reported(one.report),
                **as_weighed(one),
            )
            for one in self.new
        ]
        FieldTest.objects.bulk_create(rows, batch_size=CHUNK)
        for row, one in self.moved:
            changed = {**as_weighed(one), "fact": facts.get(row.digest)}
            for name, value in changed.items():
                setattr(row, name, value)
            row.save(update_fields=list(changed))

    def differences(self) -> list[dict[str, Any]]:
        """What the batch changed, a line per report, for its change row."""
        lines = [_line(one, what="stored") for one in self.new]
        return lines + [_line(one, what="weighed again") for _, one in self.moved]


def fact_of(one: Assessed, *, digest: str) -> NewFact | None:
    """The one fact a report brings, or None where it does not count or says nothing."""
    if one.fact is None or one.assembly is None or one.parts is None:
        return None
    passed = one.fact is FactKind.PASSED
    return NewFact(
        assembly_id=one.assembly.assembly_id,
        kind=one.fact,
        on=one.report.tested_on,
        at=one.report.tested_at,
        found_failed=passed and one.parts.found_failed,
        repaired_inside=passed and one.parts.final is not None,
        hindrance=hindrance_of(one.hindrance) if one.hindrance else None,
        detail=_detail(one),
        source=SOURCE,
        source_ref=digest,
    )


def _detail(one: Assessed) -> dict[str, str] | None:
    """What a visit that found no test keeps: the cause in words, and the valve it names."""
    if one.hindrance is None:
        return None
    detail = {"cause": one.hindrance.value, "words": CAUSE_WORDS[one.hindrance]}
    if one.hindrance is Cause.SHUTOFF2_LEAKS:
        detail["valve"] = "shutoff valve 2"
    elif one.hindrance is Cause.VALVE_SEIZED:
        detail["valve"] = "shutoff valve"
    return detail


def _on_record(*, program: Program, digests: list[str]) -> dict[str, FieldTest]:
    found: dict[str, FieldTest] = {}
    for some in in_batches(digests, size=CHUNK):
        for row in FieldTest.objects.filter(program=program, digest__in=some):
            found[row.digest] = row
    return found


def _moves(row: FieldTest, one: Assessed) -> bool:
    """Whether a stored report that did not count is seen otherwise now, and nobody decided."""
    if row.counts or row.fact_id is not None or row.decided_at is not None:
        return False
    newly_found = row.assembly_id is None and one.assembly is not None
    return newly_found or one.counts


def _as_reported(report: FieldReport) -> dict[str, Any]:
    return {
        "serial": report.serial[:120],
        "maker": report.maker[:120],
        "tested_on": report.tested_on,
        "tested_at": report.tested_at,
        "tester_certificate": report.certificate[:60],
        "tester_name": report.tester_name[:200],
        "gauge_serial": report.gauge_serial[:60],
        "cells": dict(report.cells),
        "unit": report.unit.value,
        "initial": _plain(report.initial),
        "repairs": report.repairs,
        "final": _plain(report.final),
        "declared": report.declared_text[:40],
        "remarks": report.remarks,
    }


def as_weighed(one: Assessed) -> dict[str, Any]:
    """What weighing found, as the fields of a stored test."""
    return {
        "assembly_id": one.assembly.assembly_id if one.assembly else None,
        "tester_id": one.admitted.tester_id,
        "gauge_id": one.admitted.gauge_id,
        "as_found": one.as_found.value if one.as_found else "",
        "outcome": one.outcome.value if one.outcome else "",
        "hindrance": one.hindrance.value if one.hindrance else "",
        "verdict": one.verdict(),
        "method": one.limits.name[:40],
        "counts": one.counts,
        "reasons": list(one.reasons),
        "warnings": list(one.warnings),
        "near": [near.serial for near in one.near],
        "waits_for_person": one.waits_for_person,
    }


def _plain(readings: Mapping[ReadingName, Reading]) -> dict[str, str | None]:
    return {name.value: plain_reading(reading) for name, reading in readings.items()}


def _line(one: Assessed, *, what: str) -> dict[str, Any]:
    return {
        "row": one.report.row,
        "what": what,
        "serial": one.report.serial,
        "outcome": one.outcome.value if one.outcome else None,
        "counts": one.counts,
        "fact": one.fact.value if one.fact else None,
    }
