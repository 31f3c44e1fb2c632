"""What assemblies have in common whose due dates follow from rules and their last pass alone."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Final

from registry.domain.kinds import AssemblyType, Hazard, Protects, ServiceKind
from scheduling.domain.dwellings import is_residence
from scheduling.domain.facts import Fact, FactKind
from scheduling.domain.ledger import Ledger
from scheduling.domain.matching import Attributes
from scheduling.domain.obligations import Obligation, Origin
from scheduling.domain.timeline import AttributesFrom

MOST_ROUNDS: Final = 30
"""Rounds whose ends are kept: as many bits as fit into a number of a database."""

HISTORY_COUNTS: Final = -1
"""Stored in place of rounds where replay found that the whole history counts."""

_KINDS: Final = list(FactKind)
LATER_IN_THE_DAY: Final = frozenset(_KINDS[_KINDS.index(FactKind.PASSED) + 1 :])
"""What stands after a pass within one day."""

LASTING: Final = frozenset({FactKind.HELD, FactKind.STOPPED, FactKind.EXEMPTED})
"""What may reach past the pass that follows it."""

_TESTS: Final = frozenset({FactKind.PASSED, FactKind.FAILED})
_USUAL: Final = _TESTS | {FactKind.INSTALLED, FactKind.REPAIRED, FactKind.ASSESSED}


@dataclass(frozen=True, slots=True, kw_only=True)
class Likeness:
    """What an assembly always was to the rules, and the day of its last pass."""

    attributes: Attributes
    last_passed_on: date

    @property
    def words(self) -> str:
        """As it is stored: equal words, equal likeness."""
        what = self.attributes
        return "|".join(
            (
                self.last_passed_on.isoformat(),
                what.type.value if what.type is not None else "",
                what.hazard.value,
                what.service.value,
                what.protects.value,
                _LETTERS[what.has_chemicals],
                _LETTERS[what.runs_part_year],
                what.use,
            )
        )

    @classmethod
    def of(cls, words: str) -> Likeness:
        """Return the likeness of its words. Raises ValueError where they are not such."""
        day, kind, hazard, service, protects, chemicals, part_year, use = words.split("|", 7)
        return cls(
            last_passed_on=date.fromisoformat(day),
            attributes=Attributes(
                type=AssemblyType(kind) if kind else None,
                hazard=Hazard(hazard),
                service=ServiceKind(service),
                protects=Protects(protects),
                use=use,
                is_residential=is_residence(use),
                has_chemicals=_KNOWN[chemicals],
                runs_part_year=_KNOWN[part_year],
            ),
        )


_LETTERS: Final = {True: "y", False: "n", None: ""}
_KNOWN: Final = {letter: known for known, letter in _LETTERS.items()}


def likeness_of(
    *, shapes: Sequence[AttributesFrom], facts: Iterable[Fact], ledger: Ledger
) -> Likeness | None:
    """Return the likeness of an assembly of whose history the last pass alone counts.

    `shapes`: what it was to the rules from each day on.

    None where more counts: a failure, an event, an extension or an idle time since, a hold or a
    stopped clock at any time, a change of what it is, a question to a person, or where what
    is owed does not spring from the cycle. Example: installed 2024-03-01, passed 2024-03-04,
    passed 2025-02-20: its likeness is what it is and 2025-02-20.
    """
    last, current = ledger.last_passed_on, ledger.current
    if last is None or current is None or not _is_of_the_cycle(current, ledger=ledger):
        return None
    if ledger.idle_since or ledger.removed_on or ledger.is_exempt or ledger.questions:
        return None
    first, *later = shapes
    if any(entry.attributes != first.attributes for entry in later):
        return None
    if any(_counts(fact, last=last) for fact in facts if fact.withdrawn_at is None):
        return None
    return Likeness(attributes=first.attributes, last_passed_on=last)


def _is_of_the_cycle(current: Obligation, *, ledger: Ledger) -> bool:
    """Whether nothing but the cycle speaks of what is owed, and nothing else is owed."""
    unclosed = [o for o in (*ledger.obligations, *ledger.coming) if o.closed_on is None]
    return (
        unclosed == [current]
        and len(ledger.kinds) == 1
        and current.key.origin is Origin.CYCLE
        and current.failed_on is None
        and current.cure_by is None
        and not current.prompts
        and not current.pauses
        and not current.courtesy_is_over
        and not current.is_suspended
    )


def _counts(fact: Fact, *, last: date) -> bool:
    """Whether a fact may count besides a last pass of a day."""
    if fact.kind is FactKind.ASSESSED:
        return False
    if fact.on > last or fact.kind in LASTING:
        return True
    return fact.on == last and fact.kind in LATER_IN_THE_DAY


def rounds_of(facts: Iterable[Fact]) -> int | None:
    """Return how the last rounds ended, a bit for each: the newest the lowest, set where it failed.

    A round ends with a pass, and had failed where a failure stands before it since the pass
    before, or where the pass itself was found failing. None where more happened than tests and
    repairs, two tests on one day, or a test before the installation. Example: passed, failed,
    passed, passed: 0b010.
    """
    known = [fact for fact in facts if fact.withdrawn_at is None]
    if not any(_tells_of_failing(fact) for fact in known):
        return 0
    tests = sorted((fact for fact in known if fact.kind in _TESTS), key=lambda fact: fact.on)
    if any(fact.kind not in _USUAL or fact.work != "test" for fact in known):
        return None
    days = {fact.on for fact in tests}
    installed = [fact.on for fact in known if fact.kind is FactKind.INSTALLED]
    if len(days) < len(tests) or (installed and min(days) < max(installed)):
        return None
    return _as_bits(_ends(tests)[-MOST_ROUNDS:])


def _tells_of_failing(fact: Fact) -> bool:
    return fact.kind in (FactKind.FAILED, FactKind.UNTESTABLE) or fact.found_failed


def _ends(tests: Sequence[Fact]) -> list[bool]:
    """Return whether each round had failed, oldest first."""
    ends: list[bool] = []
    has_failed = False
    for test in tests:
        if test.kind is FactKind.PASSED:
            ends.append(has_failed or test.found_failed)
            has_failed = False
        else:
            has_failed = True
    return ends


def _as_bits(ends: Sequence[bool]) -> int:
    return sum(failed << place for place, failed in enumerate(reversed(ends)))


def rounds_in(pattern: int, *, last: int) -> tuple[bool, ...]:
    """Return whether each of the last rounds had failed, oldest first.

    Example: pattern 0b101 of the last 3: failed, passed, failed.
    """
    return tuple(bool(pattern >> place & 1) for place in reversed(range(last)))


def shortest_history(*, likeness: Likeness, anchor: date, found_failed: bool = False) -> list[Fact]:
    """Return the fewest facts that leave an assembly where it stands: its anchor, its last pass.

    `anchor`: the day its cycle counts from, as the origin of what is owed says.
    """
    passed = Fact(kind=FactKind.PASSED, on=likeness.last_passed_on, found_failed=found_failed)
    if anchor >= likeness.last_passed_on:
        return [passed]
    return [Fact(kind=FactKind.INSTALLED, on=anchor), passed]
