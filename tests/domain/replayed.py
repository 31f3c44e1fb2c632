"""The real replay asked the oracle's questions, through its public interface only."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date
from functools import cache
from pathlib import Path
from typing import Any

from registry.domain.kinds import AssemblyType, Hazard
from scheduling.domain.facts import Fact, FactKind
from scheduling.domain.ladders import LeftRung, next_rung, rung_owed
from scheduling.domain.ledger import Ledger
from scheduling.domain.obligations import Obligation, ObligationKey
from scheduling.domain.replay import replay
from scheduling.domain.rulebook import Attributes, Rulebook
from scheduling.domain.rulebook_text import read_rulebook
from scheduling.domain.standing import standing
from scheduling.domain.timeline import AttributesFrom, RulebookFrom, Timeline

RULEBOOKS = Path(__file__).parents[2] / "fixtures" / "rulebooks"
LONG_AGO = date(1990, 1, 1)


@cache
def rulebook(name: str) -> Rulebook:
    """The teaching rulebook of that name, as it is shipped."""
    return read_rulebook((RULEBOOKS / f"{name}.toml").read_text(encoding="utf-8"))


def ledger_of(
    *,
    book: str,
    kind: str,
    hazard: str,
    facts: Iterable[tuple[str, date]],
    as_of: date,
    left: dict[ObligationKey, list[LeftRung]] | None = None,
) -> Ledger:
    """What replay finds for facts in the order given."""
    what = Attributes(type=AssemblyType(kind), hazard=Hazard(hazard or "not assessed"))
    timeline = Timeline(
        attributes=(AttributesFrom(on=LONG_AGO, attributes=what),),
        rulebooks=(RulebookFrom(on=LONG_AGO, rulebook=rulebook(book)),),
        recorded_on=as_of,
    )
    told = [Fact(kind=FactKind(word), on=on, sequence=n) for n, (word, on) in enumerate(facts)]
    gone = {key: tuple(rungs) for key, rungs in (left or {}).items()}
    return replay(timeline=timeline, facts=told, left=gone, as_of=as_of)


def real_answer(
    *, rulebook: str, kind: str, hazard: str, facts: Iterable[tuple[str, date]], as_of: date
) -> dict[str, Any]:
    """The oracle's `answer`, from the real replay."""
    ledger = ledger_of(book=rulebook, kind=kind, hazard=hazard, facts=facts, as_of=as_of)
    current = ledger.current
    return {
        "standing": standing(ledger, as_of).value,
        "opens_on": current.opens_on if current else None,
        "due_on": current.due_on if current else None,
        "next_rung": real_rung(rulebook, ledger, current, as_of),
        "obligations": [shown(each) for each in ledger.obligations],
    }


def real_rung(
    book: str, ledger: Ledger, current: Obligation | None, as_of: date
) -> dict[str, Any] | None:
    if current is None or standing(ledger, as_of).value in ("removed", "exempt", "idle"):
        return None
    step = next_rung(ladder=rulebook(book).ladder, obligation=current, left=(), today=as_of)
    return {"rung": step.rung.key, "on": max(step.on, as_of)} if step else None


def shown(row: Obligation) -> dict[str, Any]:
    return {
        "kind": row.kind,
        "opens_on": row.opens_on,
        "due_on": row.due_on,
        "cure_by": row.cure_by,
        "closed_on": row.closed_on,
        "closed_how": row.closed_how.value if row.closed_how else None,
    }


def real_leavings(
    *,
    rulebook: str,
    kind: str,
    hazard: str,
    facts: Iterable[tuple[str, date]],
    runs: Iterable[date],
) -> list[tuple[str, date]]:
    """The oracle's `leavings`, from the real replay and ladder."""
    told = list(facts)
    left: dict[ObligationKey, list[LeftRung]] = {}
    order: list[tuple[str, date]] = []
    was_open: ObligationKey | None = None
    for today in runs:
        ledger = ledger_of(
            book=rulebook, kind=kind, hazard=hazard, facts=told, as_of=today, left=left
        )
        row = ledger.open_of("test")
        known = {each.key for each in ledger.obligations + ledger.coming}
        if row and was_open and was_open not in known:
            left[row.key] = left.get(was_open, [])  # replay rule 2: the successor inherits
        was_open = row.key if row else was_open
        step = owed_today(rulebook, ledger, left, today)
        if step:
            order.append(step)
    return order


def owed_today(
    book: str, ledger: Ledger, left: dict[ObligationKey, list[LeftRung]], today: date
) -> tuple[str, date] | None:
    """Let the rung owed leave today, and say which it was."""
    row = ledger.open_of("test")
    if row is None:
        return None
    mine = left.setdefault(row.key, [])
    step = rung_owed(ladder=rulebook(book).ladder, obligation=row, left=mine, today=today)
    if step is None:
        return None
    mine.append(LeftRung(rung=step.rung.key, left_on=today, occurrence=step.occurrence))
    return step.rung.key, today
