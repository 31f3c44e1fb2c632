"""Past tests and extensions as stated facts; what is on record already is not recorded twice."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date

from notices.domain.past_rows import PastKind, StatedPast
from registry.changes import Hand
from registry.domain.cells import Fault
from registry.models import LoadBatch, Program
from scheduling.actions.facts import NewFact, record_facts
from scheduling.domain.facts import FactKind
from scheduling.models import Fact

SOURCE = "stated"
_KINDS = {
    PastKind.PASSED: FactKind.PASSED,
    PastKind.FAILED: FactKind.FAILED,
    PastKind.EXTENDED: FactKind.EXTENDED,
}
_Key = tuple[int, str, date]


class PastFacts:
    """The facts of a file beside those on record: a kind of a day of an assembly is one fact."""

    def __init__(
        self, *, program: Program, rows: Sequence[StatedPast], meant: Mapping[int, int]
    ) -> None:
        self._program = program
        self.created: set[int] = set()
        self.touched: set[int] = set()
        self.warnings: list[Fault] = []
        known = _on_record(program=program, assembly_ids=set(meant.values()))
        self._fresh: list[NewFact] = []
        self._installed = _installed_on(program=program, assembly_ids=set(meant.values()))
        for row in rows:
            if row.faults or row.kind not in _KINDS or row.on is None:
                continue
            key = (meant[row.row], _KINDS[row.kind].value, row.on)
            if key not in known:
                known[key] = ""
                self._add(row, assembly_id=key[0])
            elif known[key]:
                self._tell(row, known[key])

    def _add(self, row: StatedPast, *, assembly_id: int) -> None:
        assert row.kind is not None
        assert row.on is not None
        self.created.add(row.row)
        self.touched.add(assembly_id)
        self._tell_if_too_early(row, assembly_id=assembly_id)
        is_test = row.kind is not PastKind.EXTENDED
        self._fresh.append(
            NewFact(
                assembly_id=assembly_id,
                kind=_KINDS[row.kind],
                on=row.on,
                until=row.until,
                source=SOURCE,
                source_ref=f"row {row.row}",
                reason=row.reason,
                detail={"readings": "none stated"} if is_test else None,
            )
        )

    def _tell_if_too_early(self, row: StatedPast, *, assembly_id: int) -> None:
        installed_on = self._installed.get(assembly_id)
        if row.kind is not PastKind.PASSED or row.on is None or installed_on is None:
            return
        if row.on >= installed_on:
            return
        message = (
            f"The test of {row.on} lies before the installation on {installed_on}; it is kept as"
            " stated and meets nothing. Correct whichever is wrong."
        )
        self.warnings.append(Fault(row=row.row, column=None, value=row.serial, message=message))

    def _tell(self, row: StatedPast, why: str) -> None:
        message = f"This was on record and was withdrawn ({why}); it stays withdrawn."
        self.warnings.append(Fault(row=row.row, column=None, value=row.serial, message=message))

    def record(self, *, batch: LoadBatch, hand: Hand) -> None:
        """Write the facts that are new. Replay the touched assemblies afterwards."""
        record_facts(
            program=self._program, facts=self._fresh, recorded_at=hand.at, by=hand.by, batch=batch
        )


def _installed_on(*, program: Program, assembly_ids: set[int]) -> dict[int, date]:
    """The first installation on record of each assembly."""
    found: dict[int, date] = {}
    ids = sorted(assembly_ids)
    for start in range(0, len(ids), 500):
        rows = Fact.objects.filter(
            program=program,
            assembly__in=ids[start : start + 500],
            kind=FactKind.INSTALLED,
            withdrawn_at__isnull=True,
        )
        told = rows.order_by("-on").values_list("assembly_id", "on")
        found.update((pk, on) for pk, on in told if pk is not None)
    return found


def _on_record(*, program: Program, assembly_ids: set[int]) -> dict[_Key, str]:
    """Facts by assembly, kind and day; the value says why one was withdrawn, else nothing."""
    found: dict[_Key, str] = {}
    ids = sorted(assembly_ids)
    for start in range(0, len(ids), 500):
        rows = Fact.objects.filter(
            program=program, assembly__in=ids[start : start + 500], kind__in=set(_KINDS.values())
        )
        for assembly_id, kind, on, at, why, detail in rows.order_by("pk").values_list(
            "assembly_id", "kind", "on", "withdrawn_at", "withdrawn_reason", "detail"
        ):
            if detail.get("work", "test") != "test":
                continue
            key = (assembly_id, kind, on)
            is_live = at is None or found.get(key) == ""
            found[key] = "" if is_live else (why or "no reason given")
    return found
