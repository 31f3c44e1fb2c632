"""Samples of letters that answer: a correction, decisions, a report that does not count."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import date

from notices.catalogues import words_in
from notices.domain.addresses import MailingAddress, window_block
from notices.domain.answers import (
    Decided,
    Error,
    Outcome,
    Wrong,
    correction,
    decision,
    name_of,
    report_not_counted,
)
from notices.domain.briefs import Words
from notices.domain.content import LetterContent
from notices.domain.extra_kinds import ExtraKind
from notices.domain.in_hand import ReportInHand, ReportLacks
from notices.domain.plain_letters import Frame, Text, framed
from tests.domain.notices.letters import ITEM, SENDER
from tests.domain.notices.test_other_work import LACKS, SURVEY

AWKWARD = "A <B & C"

OWNER = MailingAddress(
    name="Larch Court Apartments <& Co>", street="230 Larch Court", city="Tamarack Flats",
    state="WA", zip="99171",
)  # fmt: skip

WRONG = {
    error: Wrong(
        kind="first-overdue", number="25-1103-0417", left_on=date(2025, 11, 3), error=error
    )
    for error in Error
}


def decided(outcome: Outcome) -> Decided:
    """Return an objection and its decision."""
    return Decided(
        raised_on=date(2025, 11, 10),
        decided_on=date(2025, 11, 20),
        decided_by="J. Example, program manager",
        outcome=outcome,
        words=f"The assembly at the rear is the one of {AWKWARD}.",
    )


def report(*lacks: ReportLacks) -> ReportInHand:
    """Return a report of the usual assembly that does not count."""
    return ReportInHand(
        ref="7",
        assembly_id=1,
        tested_on=date(2025, 11, 5),
        received_on=date(2025, 11, 8),
        waits=False,
        passed=True,
        lacks=lacks,
    )


def texts() -> Iterator[tuple[str, ExtraKind, Callable[[Words], Text]]]:
    """Yield every such letter by name, with its kind and what it says in a language."""
    for error, wrong in WRONG.items():
        for open_ones in (frozenset[str](), frozenset({name_of(ITEM)})):
            yield (
                f"correction, {error}, {len(open_ones)} open",
                ExtraKind.CORRECTION,
                lambda words, wrong=wrong, open_ones=open_ones: correction(  # type: ignore[misc]
                    wrong, items=[ITEM], open_ones=open_ones, sender=SENDER, words=words
                ),
            )
    for error, item in ((Error.DONE, SURVEY), (Error.RECORD, LACKS)):
        wrong = replace(WRONG[error], work=item.work)
        for open_ones in (frozenset[str](), frozenset({name_of(item)})):
            yield (
                f"correction, {item.work}, {error}, {len(open_ones)} open",
                ExtraKind.CORRECTION,
                lambda words, wrong=wrong, item=item, open_ones=open_ones: correction(  # type: ignore[misc]
                    wrong, items=[item], open_ones=open_ones, sender=SENDER, words=words
                ),
            )
    for outcome in Outcome:
        yield (
            f"decision, {outcome}",
            ExtraKind.DECISION,
            lambda words, outcome=outcome: decision(  # type: ignore[misc]
                decided(outcome), items=[ITEM], open_ones=frozenset(), sender=SENDER, words=words
            ),
        )
    yield (
        "report that does not count",
        ExtraKind.REPORT,
        lambda words: report_not_counted(
            report(*ReportLacks), item=ITEM, sender=SENDER, words=words
        ),
    )


def answers(language: str) -> Iterator[tuple[str, LetterContent]]:
    """Yield each whole in one language."""
    for name, kind, text_in in texts():
        yield f"{name}, {language}", letter(kind, text_in, language=language)


def letter(
    kind: ExtraKind, text_in: Callable[[Words], Text], *, language: str = "en"
) -> LetterContent:
    """Return such a letter whole in one language."""
    frame = Frame(
        kind=kind, number="25-1120-0007", leaves_on=date(2025, 11, 20), sender=SENDER,
        address=window_block(OWNER),
    )  # fmt: skip
    return framed(frame, text_in=text_in, words=words_in(language))
