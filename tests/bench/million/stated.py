"""Asserts that the rows the generator wrote are those that replay gives."""

from __future__ import annotations

from collections.abc import Sequence
from random import Random
from typing import Any

from django.db import transaction

from notices.queries.left_rungs import left_rungs
from scheduling.actions.replaying import replay_assemblies
from scheduling.actions.states import DATES
from scheduling.models import AssemblyState, Obligation
from tests.bench.million.filling import Share
from tests.bench.million.lives import YESTERDAY

ROW = ("pk", "origin", "period", "opens_on", "due_on", "failed_on", "cure_by", "closed_on",
       "closed_how", "rule", "prompts", "detail", "next_action_on", "opened_on")  # fmt: skip


def assert_replay_agrees(shares: Sequence[Share], *, sample: int = 200) -> int:
    """Replay a sample from the stored facts; every stored row and state must stay as it is."""
    draw = Random(5)
    asked = 0
    for share in shares:
        numbers = range(share.first, share.first + share.count)
        ids = draw.sample(numbers, min(len(numbers), sample // len(shares) + 1))
        with transaction.atomic():
            before = _stored(ids)
            rows = list(Obligation.objects.filter(assembly__in=ids).select_related("rulebook"))
            left = {pk: gone for pk, gone in left_rungs(rows, by=YESTERDAY).items() if gone}
            replay_assemblies(program=share.program, assembly_ids=ids, as_of=YESTERDAY, left=left)
            assert _stored(ids) == before, share.program.code
            transaction.set_rollback(True)
        asked += len(ids)
    return asked


def _stored(ids: Sequence[int]) -> tuple[list[Any], list[Any]]:
    rows = Obligation.objects.filter(assembly__in=ids).order_by("pk").values_list(*ROW)
    states = AssemblyState.objects.filter(assembly__in=ids).order_by("pk")
    return list(rows), list(states.values_list("assembly_id", *DATES))
