"""Erases a person: what names them goes or is blackened; facts, days, hashes and seals stay."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from django.db import models, transaction

from notices.actions.clocks import locked_clock
from registry.changes import Hand
from registry.console import Refused
from registry.models import Erasure, Program
from reports.domain.blackening import Blackener
from reports.erasing.people import PARTY, TESTER, Person, open_matters, why_never
from reports.models import LedgerEntry

Values = dict[str, Any]


@dataclass
class Work:
    """What an erasing has done so far: rows by what they are, letters, and hashed rows."""

    program: Program
    black: Blackener
    today: date
    tally: Counter[str] = field(default_factory=Counter)
    letters: list[int] = field(default_factory=list)
    hashed: dict[str, list[int]] = field(default_factory=dict)

    def blacken(
        self, label: str, rows: Iterable[Any], names: Sequence[str], *, kinds: Sequence[str] = ()
    ) -> None:
        """Bar the mentions in some fields; rows that hold none are left as they are."""
        for row in rows:
            before = {name: getattr(row, name) for name in names}
            after = {name: self.black.value(value) for name, value in before.items()}
            if after != before:
                self.set(label, row, after, kinds=kinds)

    def set(
        self, label: str, row: Any, values: dict[str, Any], *, kinds: Sequence[str] = ()
    ) -> None:
        """Write fields of one row; its entries of these kinds in the ledger lose the salt."""
        type(row)._base_manager.filter(pk=row.pk).update(**values)
        self.tally[label] += 1
        for kind in kinds:
            self.hashed.setdefault(kind, []).append(row.pk)

    def delete(self, label: str, rows: models.QuerySet[Any]) -> None:
        """Take rows away."""
        count = rows.count()
        if count:
            rows.delete()
            self.tally[label] += count


def erase(
    person: Person,
    *,
    program: Program,
    typed: str,
    is_forced: bool,
    hand: Hand,
    today: date,
    by: Any = None,
    also: Sequence[str] = (),
) -> Erasure:
    """Erase a person of a program; Refused without a reason, the name typed, or with open matters.

    `also`: other words that name the person, to be barred too. One transaction: all of it or
    nothing. What is done cannot be undone.
    """
    if typed.strip() != person.name.strip():
        raise Refused("The name typed is not the name of this person: nothing was erased.")
    if not hand.reason.strip():
        raise Refused("Say why: who asked for it, and when.")
    never = why_never(person, program=program, by=by)
    if never:
        raise Refused(never)
    with transaction.atomic():
        locked_clock(program)
        still = open_matters(person, program=program, today=today)
        if still and not is_forced:
            raise Refused(f"Something is open: {'; '.join(still)}. End it, or force it.")
        work = done_to(person, program=program, today=today, also=also)
        return Erasure.objects.create(
            program=program,
            what=person.what,
            subject_id=person.pk,
            at=hand.at,
            by=hand.by,
            reason=work.black.text(hand.reason)[:500],
            was_forced=bool(still),
            open_matters=[work.black.text(one) for one in still],
            tally=dict(work.tally),
            letters=work.letters,
            entries=_salts_taken(work),
        )


def shown(person: Person, *, program: Program, today: date) -> dict[str, int]:
    """Return what would go, counted by doing it and taking it back."""
    with transaction.atomic():
        work = done_to(person, program=program, today=today)
        transaction.set_rollback(True)
    return dict(work.tally)


def done_to(person: Person, *, program: Program, today: date, also: Sequence[str] = ()) -> Work:
    """Blacken and take away what names the person. Call it inside a transaction."""
    from reports.erasing.party import erase_party  # noqa: PLC0415 - they build on this module
    from reports.erasing.workers import erase_tester, erase_user  # noqa: PLC0415

    if person.what == PARTY:
        return erase_party(person.row, program=program, today=today, also=also)
    if person.what == TESTER:
        return erase_tester(person.row, program=program, today=today)
    return erase_user(person.row, program=program, today=today)


def _salts_taken(work: Work) -> list[int]:
    """Take the salts of what was hashed: the digests say nothing from now on, the seals hold."""
    numbers: list[int] = []
    for kind, ids in work.hashed.items():
        rows = LedgerEntry.objects.filter(program=work.program, kind=kind, subject__in=set(ids))
        numbers += rows.exclude(salt="").values_list("number", flat=True)
        rows.update(salt="")
    return sorted(numbers)
