"""A comparison carried from request to request in a signed field: no row keeps it anywhere."""

from __future__ import annotations

import csv
import time
from dataclasses import dataclass
from datetime import date
from io import StringIO
from typing import Any, Final

from django.core import signing

from registry.models import Program
from reports.drawing.compared import letters, moves
from scheduling.domain.comparing import Comparison
from scheduling.domain.rulebook import Rulebook
from scheduling.models import Rulebook as Row
from scheduling.queries.comparing import Question, ask, go_on
from scheduling.queries.editions import named_book

SECONDS: Final = 4.0
"""How long one request goes on comparing before it tells how far it is."""

LONGEST_STATE: Final = 200_000
_SALT: Final = "rulebook comparison"
_WIDE, _NARROW = 1176.0, 358.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Run:
    """A comparison as far as it is: with what, from which day, and what is compared so far."""

    word: str
    book: Rulebook
    row: Row | None
    comparison: Comparison
    last_id: int

    @property
    def label(self) -> str:
        """What the draft is called."""
        kind = self.word.partition(":")[0]
        return f"{'draft ' if kind == 'draft' else ''}{self.book.name}"

    def token(self, program: Program) -> str:
        """Return all there is to go on with, signed, for this program only."""
        return signing.dumps(
            {
                "program": program.pk,
                "with": self.word,
                "digest": self.row.sha256 if self.row else "",
                "last_id": self.last_id,
                "comparison": self.comparison.state(),
            },
            salt=_SALT,
            compress=True,
        )


class StaleComparisonError(ValueError):
    """A comparison that cannot be gone on with; the message says what to do."""


def begin(*, program: Program, word: str, effective_on: date) -> Run:
    """Begin a comparison and take it as far as one request allows."""
    book, row = named_book(program=program, word=word)
    question, comparison = ask(program=program, draft=book, effective_on=effective_on)
    return _carried(question, comparison, word=word, row=row)


def resume(*, program: Program, token: str) -> Run:
    """Go on with a comparison. Raises StaleComparisonError where the draft changed meanwhile."""
    told = _opened(token, program=program)
    book, row = named_book(program=program, word=told["with"])
    if (row.sha256 if row else "") != told["digest"]:
        raise StaleComparisonError("The draft was changed meanwhile: compare again.")
    comparison = Comparison.from_state(told["comparison"])
    if comparison.is_whole:
        return Run(word=told["with"], book=book, row=row, comparison=comparison,
                   last_id=told["last_id"])  # fmt: skip
    question, _ = ask(program=program, draft=book, effective_on=comparison.effective_on)
    question.last_id = told["last_id"]
    return _carried(question, comparison, word=told["with"], row=row)


def _opened(token: str, *, program: Program) -> dict[str, Any]:
    try:
        told: dict[str, Any] = signing.loads(token[:LONGEST_STATE], salt=_SALT)
    except signing.BadSignature as error:
        raise StaleComparisonError("That comparison cannot be read: compare again.") from error
    if told["program"] != program.pk:
        raise StaleComparisonError("That comparison is of another program: compare again.")
    return told


def _carried(question: Question, comparison: Comparison, *, word: str, row: Row | None) -> Run:
    stop = time.monotonic() + SECONDS
    for _ in go_on(question, comparison):
        if time.monotonic() > stop:
            break
    return Run(
        word=word, book=question.draft, row=row, comparison=comparison, last_id=question.last_id
    )


def drawn(comparison: Comparison) -> dict[str, str]:
    """Return the drawings of a comparison, each for a desk and for a phone."""
    buckets = [(bucket.words, bucket.dates) for bucket in comparison.buckets]
    says = f"{comparison.moved:,} due dates move: {comparison.earlier:,} earlier, "
    says += f"{comparison.later:,} later. The figures stand in the table below."
    now, then = sum(comparison.letters_now), sum(comparison.letters_then)
    said = f"Letters in 24 months: {now:,} under the rules in force, {then:,} under the others. "
    said += "The figures stand in the table below."
    return {
        "moves_wide": moves(buckets, width=760, says=says),
        "moves_narrow": moves(buckets, width=_NARROW, says=says),
        "letters_wide": letters(comparison.months, width=_WIDE, says=said),
        "letters_narrow": letters(comparison.months, width=_NARROW, says=said),
    }


def as_csv(comparison: Comparison) -> str:
    """Return a comparison as rows of what, which and how many under each."""
    sheet = StringIO()
    rows = csv.writer(sheet)
    rows.writerow(["what", "which", "in force", "draft"])
    told = comparison.to_json()
    rows.writerow(["from", comparison.effective_on.isoformat(), "", ""])
    rows.writerow(["assemblies", "", comparison.assemblies, comparison.assemblies])
    for name, number in told["due_dates"].items():
        rows.writerow(["due dates", name, "", number])
    for bucket in comparison.buckets:
        rows.writerow(["due dates move", bucket.words, "", bucket.dates])
    overdue = told["overdue"]
    rows.writerow(["overdue", "on that day", overdue["now"], overdue["then"]])
    rows.writerow(["overdue", "at once", "", overdue["at_once"]])
    rows.writerow(["overdue", "no more", overdue["no_more"], ""])
    for month, now, then in comparison.months:
        rows.writerow(["letters", month, now, then])
    return sheet.getvalue()
