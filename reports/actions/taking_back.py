"""A file of reports taken back as a whole: its facts withdrawn with a reason, and replayed."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Any

from django.db import transaction

from registry.changes import Hand, record_change
from registry.models import LoadBatch, Program
from reports.batches.dependents import dependents_of, open_proposals, questions_about
from reports.models import FieldTest, TakenBackBatch, TakenBackReport
from reports.queries.sheet_headers import WHAT
from scheduling.actions.facts import withdraw_facts
from scheduling.actions.replaying import replay_assemblies
from scheduling.models import Fact, ProgramClock


class TakeBackError(ValueError):
    """A file that is not taken back; the message says why, `depends` what stands in the way."""

    def __init__(self, message: str, *, depends: tuple[str, ...] = ()) -> None:
        super().__init__(message)
        self.message = message
        self.depends = depends


@dataclass(frozen=True, kw_only=True)
class TakenBackTally:
    """What was taken back: reports, facts, and the assemblies that were replayed."""

    reports: int
    facts: int
    assemblies: int

    def plain(self) -> dict[str, int]:
        """The tally as a command prints it."""
        return {"reports": self.reports, "facts": self.facts, "assemblies": self.assemblies}


@transaction.atomic
def take_back_tests(
    *, program: Program, batch_id: int, as_of: date, hand: Hand, dry_run: bool = False
) -> TakenBackTally:
    """Take back what a file of reports brought, where nothing depends on it.

    Its facts are withdrawn with the hand's reason and the touched assemblies replayed, so that
    they stand where they stood; its reports are kept whole in a place of their own, and the same
    file may be brought in again. A second time changes nothing and is refused. A dry run only
    counts. Raises TakeBackError.
    """
    ProgramClock.objects.get_or_create(program=program)
    ProgramClock.objects.select_for_update().get(program=program)
    batch = _batch(program=program, batch_id=batch_id)
    if not hand.reason.strip() and not dry_run:
        raise TakeBackError("Say why it is taken back; the reason is kept.")
    depends = tuple(dependents_of(batch))
    if depends:
        raise TakeBackError(
            "Something depends on this file, so it cannot be taken back as a whole. Correct its"
            " reports one by one.",
            depends=depends,
        )
    facts = Fact.objects.filter(program=program, batch=batch, withdrawn_at__isnull=True)
    tests = list(FieldTest.objects.filter(program=program, batch=batch).order_by("pk"))
    touched = {one for one in facts.values_list("assembly_id", flat=True) if one is not None}
    tally = TakenBackTally(reports=len(tests), facts=facts.count(), assemblies=len(touched))
    if not dry_run:
        _take_back(batch, tests=tests, tally=tally, hand=hand)
        if touched:
            replay_assemblies(program=program, assembly_ids=touched, as_of=as_of)
    return tally


def _batch(*, program: Program, batch_id: int) -> LoadBatch:
    batch = LoadBatch.objects.filter(program=program, what=WHAT, pk=batch_id).first()
    if batch is None:
        raise TakeBackError(f"Program {program.code} has no file of reports numbered {batch_id}.")
    done = TakenBackBatch.objects.filter(batch=batch).first()
    if done is not None:
        raise TakeBackError(f"It was taken back on {done.at:%Y-%m-%d} by {done.by} already.")
    return batch


def _take_back(
    batch: LoadBatch, *, tests: list[FieldTest], tally: TakenBackTally, hand: Hand
) -> None:
    program = batch.program
    kept = TakenBackBatch.objects.create(
        batch=batch, at=hand.at, by=hand.by, reason=hand.reason[:500], tally=tally.plain()
    )
    TakenBackReport.objects.bulk_create(
        [
            TakenBackReport(
                taken_back=kept, serial=one.serial, tested_on=one.tested_on, row=_row(one)
            )
            for one in tests
        ],
        batch_size=500,
    )
    facts = Fact.objects.filter(program=program, batch=batch, withdrawn_at__isnull=True)
    withdraw_facts(
        program=program,
        fact_ids=list(facts.values_list("pk", flat=True)),
        at=hand.at,
        reason=hand.reason,
        by=hand.by,
    )
    # What only the file asked is asked no more, and is asked anew if the file comes again.
    questions_about(batch).delete()
    open_proposals(batch).delete()
    FieldTest.objects.filter(pk__in=[one.pk for one in tests]).delete()
    record_change(
        hand=hand,
        what="file of reports",
        subject_id=batch.pk,
        label=batch.file_name,
        before=tally.plain(),
        after=dict.fromkeys(tally.plain(), 0),
        program=program,
        batch=batch,
    )


def _row(test: FieldTest) -> dict[str, Any]:
    return {
        field.attname: getattr(test, field.attname) for field in FieldTest._meta.concrete_fields
    }
