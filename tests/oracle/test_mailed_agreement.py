"""Two years of runs of the day against the oracle: the same letters leave on the same days.

Facts are recorded before the run that follows them, as in an office; runs come daily, weekly
and after gaps. An order leaves only by a person's hand, so it is not among what left.
"""

from __future__ import annotations

from collections import defaultdict
from datetime import UTC, date, datetime, time
from random import Random
from typing import Any

import pytest

from notices.actions.day import run_day
from notices.models import Notice
from notices.queries.left_rungs import left_rungs_of
from registry.domain.kinds import AssemblyType, Hazard
from registry.models import Assembly, Premises, Program
from scheduling.actions.facts import NewFact, record_facts
from scheduling.actions.replaying import replay_assemblies
from scheduling.domain.facts import FactKind
from scheduling.queries.standings import explain_assembly
from tests.oracle.generator import BOOKS, History, histories
from tests.oracle.mailing import Mailed, mailed
from tests.oracle.rules import days
from tests.scheduling.office import made_assembly, made_program

FIRST_RUN = date(2024, 1, 5)


def run_days(random: Random) -> list[date]:
    found, day = [], FIRST_RUN
    while day < date(2026, 1, 1):
        found.append(day)
        day += days(random.choice((1, 1, 3, 7, 7, 14, 30)))
    return found


def chosen(*, seed: int, count: int) -> list[History]:
    """Histories that begin before the runs end.

    A pass before the installation is left to the replay's own comparison: here it would be a
    correction, and a letter sent in error is another matter.
    """
    found = []
    for history in histories(seed=seed, count=count):
        installed = min((on for word, on in history.facts if word == "installed"), default=None)
        passes = [on for word, on in history.facts if word == "passed"]
        if history.facts and not (installed and passes and min(passes) < installed):
            found.append(history)
    return found


def moment(day: date) -> datetime:
    return datetime.combine(day, time(12), tzinfo=UTC)


class Office:
    """One program in which histories happen as the days go by."""

    def __init__(self, book: str, known: list[History]) -> None:
        self.program: Program = made_program(code="grove", rulebook=book)
        self.program.is_trial = True
        self.program.letters_a_day = 10_000
        self.program.save()
        self.known = known
        self.assemblies: dict[int, Assembly] = {}

    def live(self, *, after: date, until: date) -> None:
        """Record what happened since the last run; an assembly is known from its first fact."""
        touched, new = set(), []
        for number, history in enumerate(self.known):
            for word, on in history.facts:
                if after < on <= until:
                    assembly = self.assembly(number, on=until)
                    new.append(
                        NewFact(
                            assembly_id=assembly.pk, kind=FactKind(word), on=on, source="stated"
                        )
                    )
                    touched.add(assembly.pk)
        record_facts(program=self.program, facts=new, recorded_at=moment(until), by="clerk")
        replay_assemblies(program=self.program, assembly_ids=touched, as_of=until)
        run_day(program=self.program, as_of=until, now=moment(until))

    def assembly(self, number: int, *, on: date) -> Assembly:
        if number not in self.assemblies:
            history = self.known[number]
            self.assemblies[number] = made_assembly(
                self.program,
                serial=f"N{number}",
                type_=AssemblyType(history.kind),
                hazard=Hazard(history.hazard or "not assessed"),
                created_at=moment(on),
            )
            Premises.objects.filter(program=self.program).update(
                city="Tamarack Flats", state="WA", zip="99171"
            )
        return self.assemblies[number]

    def left(self) -> dict[int, list[tuple[str, date]]]:
        found: dict[int, list[tuple[str, date]]] = defaultdict(list)
        rows = Notice.objects.filter(left_on__isnull=False).order_by("left_on", "pk")
        for assembly, rung, on in rows.values_list("assembly_id", "rung", "left_on"):
            if assembly is not None and on is not None:
                found[assembly].append((rung, on))
        return found


@pytest.mark.slow
@pytest.mark.bench
@pytest.mark.django_db
@pytest.mark.parametrize("book", BOOKS)
def test_the_letters_of_two_years_are_those_of_the_oracle(book: str) -> None:
    runs = run_days(Random(len(book)))
    office = Office(book, chosen(seed=len(book), count=30))
    before = date.min
    for today in runs:
        office.live(after=before, until=today)
        before = today
    left = office.left()
    assert len(left) > 10
    wrong = []
    for number, assembly in office.assemblies.items():
        history = office.known[number]
        first = min(on for _, on in history.facts)
        mine = mailed(
            rulebook=book,
            kind=history.kind,
            hazard=history.hazard,
            facts=history.facts,
            runs=[day for day in runs if day >= first],
            by_hand=frozenset({"shutoff-order"}),
        )
        if (mine.order, mine.next_rung) != (left[assembly.pk], explained(assembly, on=runs[-1])):
            wrong.append((history, mine, left[assembly.pk], explained(assembly, on=runs[-1])))
    assert wrong == [], words(wrong)


def explained(assembly: Assembly, *, on: date) -> dict[str, Any] | None:
    """The next rung as `explain` has it, letters that left counted."""
    left = left_rungs_of(assembly=assembly, as_of=on)
    rung = explain_assembly(assembly=assembly, as_of=on, left=left).to_json()["next_rung"]
    return rung and {"rung": rung["rung"], "on": date.fromisoformat(rung["on"])}


Steps = list[tuple[str, date]]
Wrong = tuple[History, Mailed, Steps, dict[str, Any] | None]


def words(wrong: list[Wrong]) -> str:
    """The differences as lines that can be read."""
    lines = [f"{len(wrong)} differ"]
    for history, mine, left, coming in sorted(wrong, key=lambda each: len(each[0].facts))[:6]:
        told = sorted({(str(on), word) for word, on in history.facts})
        lines += [f"{history.kind} {history.hazard}: {told}"]
        lines += [f"  oracle {[f'{rung} {on}' for rung, on in mine.order]} {mine.next_rung}"]
        lines += [f"  stored {[f'{rung} {on}' for rung, on in left]} {coming}"]
    return "\n".join(lines)
