"""A draft put in force from a day by a named person, taken back before the day, and replayed."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

from django.db import IntegrityError, transaction
from django.utils import timezone

from registry.changes import Hand, record_change
from registry.models import Assembly, Premises, Program
from scheduling.actions.drafting import Seen
from scheduling.actions.recalculating import recalculate
from scheduling.actions.replaying import Progress, replay_premises
from scheduling.actions.standing_board import renew_board
from scheduling.domain.draft_tables import checked
from scheduling.models import Adoption, Rulebook

MOST_AT_ONCE = 5_000
"""Assemblies, or premises, replayed while a person waits; more wait for the day's run."""

LATEST = timedelta(days=3660)


class EnforcingError(ValueError):
    """A rulebook that cannot be put in force or taken back; the message says why."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Enforced:
    """What was put in force; `is_replayed` False: the run of its day does it."""

    adoption: Adoption
    is_replayed: bool


def enforce_draft(*, seen: Seen, effective_on: date, today: date, hand: Hand) -> Enforced:
    """Make an edition of a draft and put it in force from a day, today or later.

    The edition is never changed again. Where the day has come the program is replayed at
    once (a large one by the next run). Raises EnforcingError with every gap still open, for
    a day gone by, for one that has a rulebook already, or where the draft changed meanwhile.
    """
    _refuse_the_day(effective_on, today=today)
    try:
        with transaction.atomic():
            draft = _ready(seen)
            draft.is_draft = False
            draft.save(update_fields=["is_draft"])
            adoption = Adoption.objects.create(
                program=seen.program,
                rulebook=draft,
                effective_on=effective_on,
                recorded_at=hand.at,
                by=hand.by,
                reason=hand.reason,
                awaits_replay=True,
            )
            _tell(adoption, hand=hand, before={}, after=_said(adoption))
    except IntegrityError as error:
        raise EnforcingError(
            f"Another rulebook is already in force from {effective_on}: choose another day, or"
            " take that one back first."
        ) from error
    if effective_on <= today and _is_small(seen.program):
        replay_for_new_rules(program=seen.program, as_of=today)
        return Enforced(adoption=adoption, is_replayed=True)
    return Enforced(adoption=adoption, is_replayed=False)


def _is_small(program: Program) -> bool:
    """Whether a program can be replayed while a person waits."""
    assemblies = Assembly.objects.filter(program=program).count()
    return max(assemblies, Premises.objects.filter(program=program).count()) <= MOST_AT_ONCE


def take_back(*, program: Program, adoption_id: int, today: date, hand: Hand) -> Rulebook:
    """Undo an adoption before its day comes; its edition becomes a draft again.

    No due date followed from it yet. Raises EnforcingError once the day has come.
    """
    with transaction.atomic():
        rows = Adoption.objects.select_for_update(of=("self",)).select_related("rulebook")
        adoption = rows.filter(program=program, pk=adoption_id).first()
        if adoption is None:
            raise EnforcingError("That decision is not there any more: it was taken back.")
        if adoption.effective_on <= today:
            raise EnforcingError(
                f"{adoption.rulebook} is in force since {adoption.effective_on}: what followed"
                " from it stands. Put another edition in force from a later day."
            )
        rulebook = adoption.rulebook
        if _never_held(adoption):
            rulebook.is_draft = True
            rulebook.save(update_fields=["is_draft"])
        _tell(adoption, hand=hand, before=_said(adoption), after={})
        adoption.delete()
    return rulebook


def replay_for_new_rules(*, program: Program, as_of: date, progress: Progress | None = None) -> int:
    """Replay the program where a rulebook has come into force since the last time.

    Returns how many assemblies were replayed: 0 where nothing new is in force, which one
    read tells. Killed half-way, the next run does it again and ends in the same state.
    """
    due = Adoption.objects.filter(program=program, awaits_replay=True, effective_on__lte=as_of)
    ids, days = zip(*due.values_list("pk", "effective_on"), strict=True) if due else ((), ())
    if not ids:
        return 0
    tally = recalculate(program=program, changed_on=min(days), as_of=as_of, progress=progress)
    replay_premises(program=program, premises_ids=None, as_of=as_of, progress=progress)
    renew_board(program=program, on=as_of, at=timezone.now())
    Adoption.objects.filter(pk__in=ids).update(awaits_replay=False)
    return tally.assemblies


def _refuse_the_day(effective_on: date, *, today: date) -> None:
    if effective_on < today:
        raise EnforcingError(
            f"{effective_on} has gone by: choose {today} or a later day. What was judged before"
            " stays as it was."
        )
    if effective_on > today + LATEST:
        raise EnforcingError(f"{effective_on} is more than ten years on: correct the year.")


def _ready(seen: Seen) -> Rulebook:
    rows = Rulebook.objects.select_for_update(of=("self",))
    draft = rows.filter(program=seen.program, pk=seen.draft_id, is_draft=True).first()
    if draft is None:
        raise EnforcingError("This is no draft any more: it was put in force or thrown away.")
    if draft.sha256 != seen.sha256:
        raise EnforcingError(
            "Somebody changed the draft since you compared it: look at what will happen again."
        )
    gaps = checked(draft.text).gaps
    if gaps:
        raise EnforcingError(
            f"{draft.name} cannot be put in force: not transcribed, and neither filled nor waived:"
            f" {'; '.join(gaps)}."
        )
    return draft


def _never_held(adoption: Adoption) -> bool:
    """Whether nothing was ever worked out under this edition."""
    rulebook = adoption.rulebook
    others = Adoption.objects.filter(rulebook=rulebook).exclude(pk=adoption.pk)
    has_draft = Rulebook.objects.filter(
        program=adoption.program, name=rulebook.name, is_draft=True
    ).exists()
    is_own = rulebook.program_id == adoption.program_id
    return is_own and not has_draft and not others.exists() and not rulebook.obligations.exists()


def _said(adoption: Adoption) -> dict[str, str]:
    return {
        "rulebook": str(adoption.rulebook),
        "effective_on": adoption.effective_on.isoformat(),
        "by": adoption.by,
    }


def _tell(adoption: Adoption, *, hand: Hand, before: dict[str, str], after: dict[str, str]) -> None:
    record_change(
        hand=hand,
        what="rulebook in force",
        subject_id=adoption.pk,
        label=f"{adoption.rulebook} from {adoption.effective_on}",
        before=before,
        after=after,
        program=adoption.program,
    )
