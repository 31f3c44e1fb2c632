"""Forgets the likeness of assemblies whose histories are touched, checks it, and fills it in.

Replay stores it again. Until then the history is read, which is slow and never wrong.
"""

from __future__ import annotations

import logging
from collections.abc import Collection, Iterable
from datetime import date
from typing import Any, Final

from django.db import connection, transaction

from registry.models import Program, Question
from scheduling.domain.facts import FactKind
from scheduling.domain.likeness import HISTORY_COUNTS, LASTING, LATER_IN_THE_DAY
from scheduling.models import AssemblyState, Obligation, ProgramClock
from scheduling.queries.likenesses import Judged, judged

logger = logging.getLogger(__name__)

KIND: Final = "likeness"
AT_ONCE: Final = 900
AT_MOST: Final = 20_000
"""Assemblies that one run reads to fill in what they have in common."""


def forget_likeness(*, program: Program, assembly_ids: Collection[int]) -> None:
    """Let the histories of these assemblies count, until they are replayed."""
    ids = sorted(assembly_ids)
    for start in range(0, len(ids), AT_ONCE):
        some = ids[start : start + AT_ONCE]
        rows = Obligation.objects.filter(program=program, assembly__in=some, closed_on__isnull=True)
        rows.exclude(likeness="").update(likeness="", rounds=None)
        AssemblyState.objects.filter(assembly__in=some).exclude(likeness="").update(likeness="")


def mend_likeness(*, program: Program, on: date) -> int:
    """Forget every likeness that rows changed past the program contradict; return how many.

    Two statements find what may be wrong: a subject or a last pass that is not that of the words,
    a fact or a dated change that may count besides, rows that disagree. A hundredth of the others
    is looked at besides, another each day. What is found is replayed, and only what replay
    contradicts is forgotten. A person is told, for something wrote past the program.
    """
    ids: set[int] = set()
    with connection.cursor() as cursor:
        for command in DOUBTFUL[connection.vendor]:
            cursor.execute(command, [program.pk])
            ids.update(key for (key,) in cursor.fetchall())
        cursor.execute(_ONE_OF_A_HUNDRED, [program.pk, on.toordinal() % 100])
        ids.update(key for (key,) in cursor.fetchall())
    wrong = [
        each.assembly_id
        for each in judged(program=program, ids=sorted(ids), as_of=on)
        if each.is_contradicted
    ]
    if wrong:
        with transaction.atomic():
            forget_likeness(program=program, assembly_ids=wrong)
            _tell(program, wrong, on=on)
    return len(wrong)


def fill_likeness(*, program: Program, on: date, most: int = AT_MOST) -> int:
    """Store the likeness of assemblies whose replay nobody asked for it; return how many were read.

    As after the update that brought likenesses, when all are empty: a run fills in so many. A row
    whose dates are not those of its replay is left to have its history read.
    """
    ids = _not_judged(program)[:most]
    for start in range(0, len(ids), AT_ONCE):
        with transaction.atomic():
            ProgramClock.objects.get_or_create(program=program)
            ProgramClock.objects.select_for_update().get(program=program)
            _store(judged(program=program, ids=ids[start : start + AT_ONCE], as_of=on))
    return len(ids)


def _not_judged(program: Program) -> Any:
    rows = Obligation.objects.filter(
        program=program, assembly__isnull=False, closed_on__isnull=True, likeness="", rounds=None
    )
    return rows.order_by("assembly_id").values_list("assembly_id", flat=True).distinct()


def _store(found: Iterable[Judged]) -> None:
    rows: list[tuple[str, int | None, int]] = []
    states: list[tuple[str, int]] = []
    for each in found:
        words, rounds = (
            (each.words, each.rounds) if each.says_what_is_stored else ("", HISTORY_COUNTS)
        )
        rows.append((words, rounds, each.assembly_id))
        if words:
            states.append((words, each.assembly_id))
    with connection.cursor() as cursor:
        cursor.executemany(_FILL_ROWS, rows)
        if states:
            cursor.executemany(_FILL_STATES, states)


def _tell(program: Program, wrong: list[int], *, on: date) -> None:
    logger.error("Of %s, %s assemblies changed without a replay: %s", program.code, len(wrong),
                 wrong[:20])  # fmt: skip
    Question.objects.get_or_create(
        program=program,
        key=f"likeness:{on}:{len(wrong)}:{wrong[0]}",
        defaults={
            "kind": KIND,
            "text": (
                f"{len(wrong)} assemblies changed without being worked out anew. Rows were changed"
                " past the program; replay the facts (replay_facts) and find by what."
            ),
            "detail": {"assemblies": wrong[:100]},
            "raised_on": on,
        },
    )


def _listed(kinds: Collection[FactKind]) -> str:
    return ", ".join(f"'{kind.value}'" for kind in sorted(kinds))


_STATES: Final = AssemblyState._meta.db_table
_ROWS: Final = Obligation._meta.db_table
_FILL_ROWS: Final = (
    f"UPDATE {_ROWS} SET likeness = %s, rounds = %s WHERE assembly_id = %s"  # noqa: S608
    " AND closed_on IS NULL AND likeness = '' AND rounds IS NULL"
)
_FILL_STATES: Final = f"UPDATE {_STATES} SET likeness = %s WHERE assembly_id = %s"  # noqa: S608
_ONE_OF_A_HUNDRED: Final = (
    f"SELECT assembly_id FROM {_STATES} WHERE program_id = %s AND likeness <> ''"  # noqa: S608
    " AND assembly_id %% 100 = %s"
)
_PARTED: Final = (
    f"SELECT o.assembly_id FROM {_ROWS} o JOIN {_STATES} s ON s.assembly_id = o.assembly_id"  # noqa: S608
    " WHERE o.program_id = %s AND o.closed_on IS NULL AND o.likeness <> s.likeness"
)
_COUNTING: Final = LASTING | {FactKind.IDLED, FactKind.REMOVED}
"""Facts that may count whenever they happened."""


def _doubtful(*, day: str, known: str, was: str) -> tuple[str, str]:
    """Return what finds too many rather than too few, its one parameter the program."""
    shape = " || '|' || ".join((
        day.format("s.last_passed_on"), "a.type", "a.hazard", "c.kind", "a.protects",
        known.format("c.has_chemicals"), known.format("c.runs_part_year"), "p.use",
    ))  # fmt: skip
    return (
        _PARTED,
        f"""
SELECT s.assembly_id FROM {_STATES} s
JOIN registry_assembly a ON a.id = s.assembly_id
JOIN registry_serviceconnection c ON c.id = a.connection_id
JOIN registry_premises p ON p.id = a.premises_id
WHERE s.program_id = %s AND s.likeness <> '' AND (s.likeness <> {shape}
  OR {was.format("a.was")} OR {was.format("c.was")} OR COALESCE((
  SELECT max(CASE WHEN f.kind <> '{FactKind.ASSESSED.value}' AND (f."on" > s.last_passed_on
      OR f.kind IN ({_listed(_COUNTING)})
      OR (f."on" = s.last_passed_on AND f.kind IN ({_listed(LATER_IN_THE_DAY)}))) THEN 2
    WHEN f."on" = s.last_passed_on AND f.kind = '{FactKind.PASSED.value}' THEN 1 ELSE 0 END)
  FROM scheduling_fact f WHERE f.assembly_id = s.assembly_id AND f.withdrawn_at IS NULL), 0) <> 1
  OR CASE (SELECT max(CASE WHEN h.hazard <> a.hazard THEN 2 ELSE 1 END)
  FROM registry_hazardassessment h WHERE h.assembly_id = s.assembly_id)
  WHEN 2 THEN TRUE WHEN 1 THEN FALSE ELSE EXISTS (
  SELECT 1 FROM registry_hazardassessment h WHERE h.premises_id = a.premises_id
  AND h.assembly_id IS NULL AND h.hazard <> a.hazard) END)""",  # noqa: S608  (words of our own)
    )


DOUBTFUL: Final = {
    "postgresql": _doubtful(
        day="to_char({}, 'YYYY-MM-DD')",
        known="CASE WHEN {0} THEN 'y' WHEN NOT {0} THEN 'n' ELSE '' END",
        was="{0} <> '[]'::jsonb",
    ),
    "sqlite": _doubtful(
        day="{}", known="CASE {0} WHEN 1 THEN 'y' WHEN 0 THEN 'n' ELSE '' END", was="{0} <> '[]'"
    ),
}
"""The statements in the words of each database."""
