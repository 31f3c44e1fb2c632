"""Forgets the likeness of assemblies whose histories are touched, and checks that it is true.

Replay stores it again. Until then the history is read, which is slow and never wrong.
"""

from __future__ import annotations

import logging
from collections.abc import Collection
from datetime import date
from typing import Final

from django.db import connection, transaction

from registry.models import Program, Question
from scheduling.domain.facts import FactKind
from scheduling.domain.likeness import LASTING, LATER_IN_THE_DAY
from scheduling.models import AssemblyState, Obligation

logger = logging.getLogger(__name__)

KIND: Final = "likeness"
AT_ONCE: Final = 900


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

    What an assembly is to the rules is compared with its words, and its facts are looked through
    for one after its last pass. A person is told, for something wrote past the program.
    """
    with connection.cursor() as cursor:
        cursor.execute(_WRONG[connection.vendor], [program.pk])
        wrong = [key for (key,) in cursor.fetchall()]
    if wrong:
        with transaction.atomic():
            forget_likeness(program=program, assembly_ids=wrong)
            _tell(program, wrong, on=on)
    return len(wrong)


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


def _sql(*, day: str, known: str) -> str:
    shape = " || '|' || ".join((
        day.format("s.last_passed_on"), "a.type", "a.hazard", "c.kind", "a.protects",
        known.format("c.has_chemicals"), known.format("c.runs_part_year"), "p.use",
    ))  # fmt: skip
    return f"""
SELECT s.assembly_id FROM {AssemblyState._meta.db_table} s
JOIN registry_assembly a ON a.id = s.assembly_id
JOIN registry_serviceconnection c ON c.id = a.connection_id
JOIN registry_premises p ON p.id = a.premises_id
WHERE s.program_id = %s AND s.likeness <> '' AND (s.likeness <> {shape} OR EXISTS (
  SELECT 1 FROM scheduling_fact f WHERE f.assembly_id = s.assembly_id AND f.withdrawn_at IS NULL
  AND f.kind <> '{FactKind.ASSESSED.value}' AND (f."on" > s.last_passed_on
    OR f.kind IN ({_listed(LASTING)})
    OR (f."on" = s.last_passed_on AND f.kind IN ({_listed(LATER_IN_THE_DAY)})))))
ORDER BY s.assembly_id"""  # noqa: S608  (names and words of our own)


_WRONG: Final = {
    "postgresql": _sql(
        day="to_char({}, 'YYYY-MM-DD')",
        known="CASE WHEN {0} THEN 'y' WHEN NOT {0} THEN 'n' ELSE '' END",
    ),
    "sqlite": _sql(day="{}", known="CASE {0} WHEN 1 THEN 'y' WHEN 0 THEN 'n' ELSE '' END"),
}
"""The statement in the words of each database."""
