"""Letters that left before the office came here: notices without pages, so that ladders go on."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence

from django.db.models import F

from notices.actions.past_days import PastDays
from notices.domain.owing import stored_occurrence
from notices.domain.past_rows import PastKind, StatedPast
from notices.domain.past_rungs import Fit, fit
from notices.models import Notice
from registry.changes import Hand
from registry.domain.cells import Fault
from registry.models import Assembly, LoadBatch, Program
from scheduling.domain.ladders import Ladder
from scheduling.domain.reasons import Reason
from scheduling.models import Obligation

RULE = "brought along"
CITATION = "As stated by the office; no copy of the letter is kept here."


class PastLetters:
    """The letters of a file beside the obligations on record, once its facts are replayed."""

    def __init__(
        self,
        *,
        program: Program,
        rows: Sequence[StatedPast],
        meant: Mapping[int, int],
        ladder: Ladder,
    ) -> None:
        self._program, self._ladder = program, ladder
        letters = [row for row in rows if row.kind is PastKind.LETTER and not row.faults]
        self._rows = sorted(letters, key=lambda row: (row.on, row.row))
        self._meant = meant
        ids = {meant[row.row] for row in letters}
        self._owed = _obligations(ids)
        self._days = PastDays(program=program, assembly_ids=ids)
        self._known = _notices(ids)
        self._assemblies = Assembly.objects.in_bulk(ids)
        self.created: set[int] = set()
        self.unfit: dict[int, str] = {}
        self.warnings: list[Fault] = []

    def record(self, *, batch: LoadBatch, hand: Hand, source: str) -> None:
        """Write a notice for every letter that is new; what fits no obligation is told."""
        fresh: list[Notice] = []
        opened: set[int] = set()
        for row in self._rows:
            notice = self._notice(row, batch=batch, source=source)
            if notice is not None and notice.obligation_id is not None:
                fresh.append(notice)
                opened.add(notice.obligation_id)
        Notice.objects.bulk_create(fresh, batch_size=500)
        _open(sorted(opened), batch=batch)

    def _notice(self, row: StatedPast, *, batch: LoadBatch, source: str) -> Notice | None:
        assert row.on is not None
        assembly_id = self._meant[row.row]
        known = self._known[assembly_id]
        if any((rung, row.on) in known for rung in row.rungs):
            return None
        owed = self._days.rows_on(row.on, assembly_id=assembly_id, rows=self._owed[assembly_id])
        found = fit(
            meant=row.rungs,
            left_on=row.on,
            obligations=[then for then, _ in owed],
            ladder=self._ladder,
        )
        if found is None:
            self.unfit[row.row] = (
                f"The letter ({' or '.join(row.rungs)}) fits no obligation: none was open for it "
                f"on {row.on}. Check the day, or bring the tests of that time along."
            )
            return None
        notice = self._made(row, found=found, obligation=owed[found.place][1], batch=batch)
        key = (notice.matter_key, notice.rung, notice.occurrence)
        if key in known:
            self._tell_twice(row, rung=notice.rung)
            return None
        known |= {key, (notice.rung, row.on)}
        self.created.add(row.row)
        notice.reasons = [_reason(row, rung=notice.rung, source=source)]
        return notice

    def _made(
        self, row: StatedPast, *, found: Fit, obligation: Obligation, batch: LoadBatch
    ) -> Notice:
        assert row.on is not None
        since = obligation.lawful_since
        counts_since = since is not None and row.on >= since and not found.rung.is_skippable
        return Notice(
            program=self._program,
            matter_key=f"obligation:{obligation.pk}",
            obligation=obligation,
            assembly_id=obligation.assembly_id,
            premises_id=self._assemblies[obligation.assembly_id].premises_id,
            rung=found.rung.key,
            occurrence=stored_occurrence(
                found.occurrence, lawful_since=since if counts_since else None
            ),
            owed_on=row.on,
            recorded_on=batch.as_of,
            left_on=row.on,
            citation=found.rung.citation[:500],
            is_brought_along=True,
        )

    def _tell_twice(self, row: StatedPast, *, rung: str) -> None:
        message = f"The rung {rung} of that obligation left before; one letter of it counts."
        self.warnings.append(Fault(row=row.row, column=None, value=row.serial, message=message))


def _reason(row: StatedPast, *, rung: str, source: str) -> dict[str, str]:
    assert row.on is not None
    said = f"{rung} left {row.on}, as stated in {source}, row {row.row}"
    return Reason(row.on, RULE, f"{said}; {row.reason}" if row.reason else said, CITATION).to_json()


def _obligations(assembly_ids: set[int]) -> dict[int, list[Obligation]]:
    """Obligations by assembly, oldest first."""
    found: dict[int, list[Obligation]] = defaultdict(list)
    ids = sorted(assembly_ids)
    for start in range(0, len(ids), 500):
        rows = Obligation.objects.filter(assembly__in=ids[start : start + 500])
        for row in rows.order_by("opens_on", "due_on", "pk"):
            found[row.its_assembly_id].append(row)
    return found


def _notices(assembly_ids: set[int]) -> dict[int, set[tuple[object, ...]]]:
    """What left on record, by assembly: by rung and day, and by matter, rung and occurrence."""
    found: dict[int, set[tuple[object, ...]]] = defaultdict(set)
    ids = sorted(assembly_ids)
    for start in range(0, len(ids), 500):
        rows = Notice.objects.filter(assembly__in=ids[start : start + 500])
        for assembly_id, matter, rung, occurrence, left_on in rows.values_list(
            "assembly_id", "matter_key", "rung", "occurrence", "left_on"
        ):
            found[assembly_id or 0] |= {(matter, rung, occurrence), (rung, left_on)}
    return found


def _open(obligation_ids: Sequence[int], *, batch: LoadBatch) -> None:
    """What a letter left for was open: the row stays, whatever a correction makes of its key."""
    for start in range(0, len(obligation_ids), 500):
        some = obligation_ids[start : start + 500]
        rows = Obligation.objects.filter(pk__in=some, opened_on__isnull=True)
        rows.filter(opens_on__lte=batch.as_of).update(opened_on=F("opens_on"))
        # Looked at by the next run, which writes the day of the next rung anew.
        Obligation.objects.filter(
            pk__in=some, closed_on__isnull=True, opened_on__isnull=False
        ).update(next_action_on=batch.as_of)
