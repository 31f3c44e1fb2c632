"""What a person decides about a report that waits: which assembly it means, or that it is seen."""

from __future__ import annotations

from datetime import date

from django.db import transaction

from notices.actions.stopping import go_on
from registry.changes import Hand, record_change
from registry.models import Program
from registry.moments import today_in
from reports.actions.stored_tests import as_weighed, fact_of
from reports.domain.assessing import Assessed
from reports.models import FieldTest, FoundAssembly
from reports.queries.kept_reports import UnreadableReportError, kept_report
from reports.queries.serials import assembly_on_record
from reports.queries.weighing import Weighing
from scheduling.actions.facts import record_facts, withdraw_facts
from scheduling.actions.replaying import replay_assemblies


class DecisionError(ValueError):
    """A decision that cannot be taken; carries the field, and the message says what to do."""

    def __init__(self, *, field: str, message: str) -> None:
        super().__init__(message)
        self.field = field
        self.message = message


def settle_field_test(*, program: Program, test_id: int, decision: str, hand: Hand) -> FieldTest:
    """Note that a person has seen a waiting report, and what was decided; nothing moves.

    Raises DecisionError: no such report, already decided, or no words given.
    """
    words = decision.strip()
    if not words:
        raise DecisionError(field="decision", message="Say in a few words what was decided.")
    with transaction.atomic():
        test = _waiting(program=program, test_id=test_id)
        _decide(test, words=words, hand=hand)
        _settle_found(test, assembly_id=None, how="refused", hand=hand)
        _let_letters_go_on(test, hand=hand)
    return test


def take_field_test_as(
    *,
    program: Program,
    test_id: int,
    assembly_id: int,
    as_of: date,
    hand: Hand,
    how: str = "misread",
) -> FieldTest:
    """Take a report whose serial nobody knew as one of a known assembly, and weigh it anew.

    It is judged by the assembly's type and, where it counts, brings its fact. It may wait
    again: a failing test that does not count is still for a person. Raises DecisionError.
    """
    with transaction.atomic():
        test = _waiting(program=program, test_id=test_id)
        if test.assembly_id is not None:
            raise DecisionError(field="assembly", message="This report has its assembly already.")
        assessed = _weighed(test, program=program, assembly_id=assembly_id, as_of=as_of)
        before = {"assembly": None, "outcome": test.outcome, "counts": test.counts}
        for name, value in as_weighed(assessed).items():
            setattr(test, name, value)
        _bring_fact(test, assessed=assessed, as_of=as_of, hand=hand)
        test.save()
        _settle_found(test, assembly_id=assembly_id, how=how, hand=hand)
        record_change(
            hand=hand,
            what="fieldtest",
            subject_id=test.pk,
            label=str(test),
            before=before,
            after={"assembly": assembly_id, "outcome": test.outcome, "counts": test.counts},
            program=program,
        )
    return test


def strike_field_test(
    *, program: Program, test_id: int, decision: str, as_of: date, hand: Hand
) -> FieldTest:
    """Take a test out of the count that was found not to hold, one by one, with words.

    Its fact is withdrawn, not deleted, and its assembly replayed; the report stays whole.
    Raises DecisionError: nothing was found out about it later, or no words given.
    """
    words = decision.strip()
    if not words:
        raise DecisionError(field="decision", message="Say in a few words what was decided.")
    with transaction.atomic():
        test = _waiting(program=program, test_id=test_id)
        if not test.later_doubts or not test.counts:
            message = "Nothing was found out later about this report: it cannot be struck."
            raise DecisionError(field="test", message=message)
        test.counts = False
        test.reasons = [
            "It counted, and was taken out of the count later.",
            *test.later_doubts,
            *test.reasons,
        ]
        test.save(update_fields=["counts", "reasons"])
        if test.fact_id is not None:
            touched = withdraw_facts(
                program=program, fact_ids=[test.fact_id], at=hand.at, reason=words, by=hand.by
            )
            replay_assemblies(program=program, assembly_ids=touched, as_of=as_of)
        _decide(test, words=words, hand=hand)
    return test


def _let_letters_go_on(test: FieldTest, *, hand: Hand) -> None:
    """A report that waited held overdue rungs of its assembly: the next run looks at them."""
    if test.assembly is not None:
        today = today_in(zone=test.program.zone, now=hand.at)
        go_on([test.assembly.premises_id], program=test.program, today=today)


def _settle_found(test: FieldTest, *, assembly_id: int | None, how: str, hand: Hand) -> None:
    FoundAssembly.objects.filter(field_test=test, settled_at__isnull=True).update(
        settled_at=hand.at, settled_by=hand.by, settled_how=how, assembly_id=assembly_id,
        reason=hand.reason[:500],
    )  # fmt: skip


def _waiting(*, program: Program, test_id: int) -> FieldTest:
    rows = FieldTest.objects.select_for_update().filter(program=program, pk=test_id)
    test = rows.first()
    if test is None:
        raise DecisionError(field="test", message="This program has no such report.")
    if not test.waits_for_person:
        raise DecisionError(field="test", message="This report waits for nobody any more.")
    return test


def _decide(test: FieldTest, *, words: str, hand: Hand) -> None:
    test.waits_for_person = False
    test.decided_at, test.decided_by = hand.at, hand.by
    test.decision = words[:500]
    test.save(update_fields=["waits_for_person", "decided_at", "decided_by", "decision"])
    record_change(
        hand=hand,
        what="fieldtest",
        subject_id=test.pk,
        label=str(test),
        before={"waits": True, "decision": ""},
        after={"waits": False, "decision": test.decision},
        program=test.program,
    )


def _weighed(test: FieldTest, *, program: Program, assembly_id: int, as_of: date) -> Assessed:
    assembly = assembly_on_record(program=program, assembly_id=assembly_id)
    if assembly is None:
        raise DecisionError(field="assembly", message="This program has no such assembly.")
    try:
        kept = kept_report(test, program=program, as_of=as_of)
    except UnreadableReportError as error:
        raise DecisionError(field="test", message=str(error)) from error
    weighing = Weighing(program=program, method=test.method or None)
    return weighing.weigh_for(kept.report, assembly=assembly, twins=kept.twins)


def _bring_fact(test: FieldTest, *, assessed: Assessed, as_of: date, hand: Hand) -> None:
    fact = fact_of(assessed, digest=test.digest)
    if fact is None:
        return
    (row,) = record_facts(
        program=test.program, facts=[fact], recorded_at=hand.at, by=hand.by, batch=test.batch
    )
    test.fact = row
    replay_assemblies(program=test.program, assembly_ids=[row.its_assembly_id], as_of=as_of)
