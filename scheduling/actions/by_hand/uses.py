"""The use of a premises changed from a day on: before it the premises stays what it was."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from typing import Any

from django.db import transaction

from registry.changes import Hand
from registry.models import Assembly, Premises, Program
from scheduling.actions.by_hand.assemblies import remember
from scheduling.actions.by_hand.premises import keep_premises
from scheduling.actions.by_hand.rows import RefusedChangeError


def remember_use(*, premises: Premises, since: date, today: date, hand: Hand) -> None:
    """Note the use of now as that until a day, on the premises and on what stands there.

    Write the new use afterwards, in the same transaction. Raises RefusedChangeError for a day to
    come, and for one on or before the last change of the premises or of one of its assemblies.
    """
    newest = max((entry["until"] for entry in premises.was or ()), default="")
    if newest >= since.isoformat():
        message = f"Its use changed on {newest} already: choose a later day."
        raise RefusedChangeError(field="use_since", message=message)
    there = list(premises.assemblies.select_related("connection", "premises").order_by("pk"))
    try:
        noted = remember(assemblies=there, since=since, today=today, hand=hand)
    except RefusedChangeError as refusal:
        raise RefusedChangeError(field="use_since", message=refusal.message) from refusal
    Assembly.objects.bulk_update(noted, ["was"], batch_size=200)
    before = {
        "until": since.isoformat(),
        "recorded_at": hand.at.isoformat(),
        "use": premises.use,
    }
    premises.was = [*(premises.was or ()), before]
    premises.save(update_fields=["was"])


@transaction.atomic
def keep_premises_from(
    *,
    program: Program,
    premises: Premises | None,
    values: Mapping[str, Any],
    use_since: date | None,
    today: date,
    hand: Hand,
) -> Premises:
    """Write a premises; with `use_since` its new use holds from that day on, else from ever.

    Raises RefusedChangeError.
    """
    if premises is not None and use_since is not None and premises.use != values["use"]:
        remember_use(premises=premises, since=use_since, today=today, hand=hand)
    return keep_premises(program=program, premises=premises, values=values, hand=hand)
