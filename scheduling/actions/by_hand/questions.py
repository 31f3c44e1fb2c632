"""A question settled by a person: once, with words that are kept."""

from __future__ import annotations

from django.db import transaction

from registry.changes import Hand, record_change
from registry.models import Question


@transaction.atomic
def settle_question(*, question: Question, answer: str, hand: Hand) -> bool:
    """Settle a question; False where somebody did before."""
    changed = Question.objects.filter(pk=question.pk, settled_at__isnull=True).update(
        settled_at=hand.at, settled_by=hand.by, answer=answer
    )
    if not changed:
        return False
    record_change(
        hand=hand,
        what="question",
        subject_id=question.pk,
        label=question.text,
        before={"answer": ""},
        after={"answer": answer},
        program=question.program,
    )
    return True
