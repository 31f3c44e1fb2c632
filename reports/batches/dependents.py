"""What depends on a file of reports, so that it cannot be taken back as a whole."""

from __future__ import annotations

from collections.abc import Iterator

from django.db.models import QuerySet

from notices.models import Notice
from registry.models import LoadBatch, Question
from reports.models import FieldTest, FoundAssembly
from scheduling.models import Fact

NAMED = 8
"""How many of each kind are named; the rest are counted."""


def dependents_of(batch: LoadBatch) -> list[str]:
    """One sentence for each kind of thing that depends on the file; none: it can be taken back.

    A report of another file that counts only since this one, a report that a person decided, a
    question about one that a person answered, a row of any kind that points at one of its reports,
    and a notice about one of its assemblies that left since.
    """
    tests = FieldTest.objects.filter(batch=batch)
    return [
        *_weighed_anew(batch),
        *_decided(tests),
        *_answered(batch),
        *_held_by(tests),
        *_told_of(batch),
    ]


def questions_about(batch: LoadBatch) -> QuerySet[Question]:
    """What a person was asked about the file's reports."""
    tests = FieldTest.objects.filter(batch=batch).values_list("pk", flat=True)
    asked = Question.objects.filter(program=batch.program, raised_on=batch.as_of)
    return asked.filter(detail__field_test__in=list(tests))


def open_proposals(batch: LoadBatch) -> QuerySet[FoundAssembly]:
    """Assemblies that only the file's reports name, while nobody has said what they are."""
    return FoundAssembly.objects.filter(field_test__batch=batch, settled_at__isnull=True)


def _answered(batch: LoadBatch) -> Iterator[str]:
    answered = questions_about(batch).filter(settled_at__isnull=False)
    named = _named([str(one) for one in answered[: NAMED + 1]])
    if named:
        yield f"A person answered what it asked: {named}"


def _weighed_anew(batch: LoadBatch) -> Iterator[str]:
    others = FieldTest.objects.filter(fact__batch=batch).exclude(batch=batch)
    named = _named([f"{one.serial} of {one.tested_on}" for one in others[: NAMED + 1]])
    if named:
        yield f"Reports of other files count only since this one: {named}."


def _decided(tests: QuerySet[FieldTest]) -> Iterator[str]:
    decided = tests.filter(decided_at__isnull=False)
    named = _named([f"{one.serial}, by {one.decided_by}" for one in decided[: NAMED + 1]])
    if named:
        yield f"A person decided about reports of it: {named}."


def _held_by(tests: QuerySet[FieldTest]) -> Iterator[str]:
    for relation in FieldTest._meta.related_objects:
        model = relation.related_model
        rows = model._default_manager.filter(**{f"{relation.field.name}__in": tests})
        if model is FoundAssembly:
            rows = rows.filter(settled_at__isnull=False)
        named = _named([str(one) for one in rows[: NAMED + 1]])
        if named:
            yield f"{str(model._meta.verbose_name_plural).capitalize()} hold on to it: {named}."


def _told_of(batch: LoadBatch) -> Iterator[str]:
    facts = Fact.objects.filter(batch=batch, withdrawn_at__isnull=True)
    notices = Notice.objects.filter(
        assembly__in=facts.values("assembly"),
        recorded_on__gte=batch.as_of,
        left_on__isnull=False,
    ).select_related("assembly")
    named = _named([f"{one.assembly} ({one.rung})" for one in notices[: NAMED + 1]])
    if named:
        yield f"Letters about its assemblies left since: {named}."


def _named(words: list[str]) -> str:
    shown = list(dict.fromkeys(words[:NAMED]))
    return ", ".join(shown) + (" and more" if len(words) > NAMED else "")
