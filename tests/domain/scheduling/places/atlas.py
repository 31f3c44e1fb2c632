"""The rulebooks of places, their gaps closed so that their own rules can be lived through."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import replace
from datetime import date
from functools import cache
from pathlib import Path

from registry.domain.kinds import AssemblyType, Hazard, ServiceKind
from scheduling.domain.facts import Fact
from scheduling.domain.ledger import Ledger
from scheduling.domain.replay import replay
from scheduling.domain.rulebook import Attributes, CycleRule, Rulebook
from scheduling.domain.rulebook_text import read_rulebook
from scheduling.domain.timeline import AttributesFrom, RulebookFrom, Timeline
from tests.domain.scheduling.histories import FOLDER, START, facts, text_of

PLACES = sorted(path.stem for path in (FOLDER / "places").glob("*.toml"))

DC = Attributes(type=AssemblyType.DC, hazard=Hazard.LOW)
RP = Attributes(type=AssemblyType.RP, hazard=Hazard.HIGH)
PVB = Attributes(type=AssemblyType.PVB, hazard=Hazard.HIGH, service=ServiceKind.IRRIGATION)
HOME = replace(DC, is_residential=True, has_chemicals=False, service=ServiceKind.IRRIGATION)


def path_of(name: str) -> Path:
    """The file of a place."""
    return FOLDER / "places" / f"{name}.toml"


@cache
def place(name: str) -> Rulebook:
    """The rulebook of a place as it ships."""
    return read_rulebook(path_of(name).read_text(encoding="utf-8"))


def opened(book: Rulebook, days: int) -> Rulebook:
    """A rulebook whose cycles open so many days before the due date (a choice of the test)."""

    def with_days(rule: CycleRule) -> CycleRule:
        return rule if rule.season_opens or rule.opens_days else replace(rule, opens_days=days)

    return replace(book, cycles=tuple(map(with_days, book.cycles)))


def rules(toml: str) -> Rulebook:
    """A rulebook of the test's own rules, with the days of the teaching one about them."""
    return read_rulebook(text_with(toml))


def text_with(toml: str) -> str:
    """The test's own rules as TOML, with the days of the teaching rulebook about them."""
    head, *tables = text_of("plain-rolling").split("\n\n")
    kept = [
        table
        for table in tables
        if table.startswith(("[method]", "[grace]", "[no_date]", "[transition]", "[credentials]"))
    ]
    return "\n\n".join([head, *kept, CURE, toml])


CURE = """[[cure]]
id = "cure"
days = 21
citation = "Teaching rulebook plain-rolling, rule 8"
"""
TEST_KIND = """[[kind]]
name = "test"
met_by = ["test"]
"""
YEARLY = """[[cycle]]
id = "yearly"
regime = "rolling"
every = "FREQ=YEARLY"
opens_days = 30
citation = "annually"
"""
NO_LADDER = """[[gap]]
name = "ladder"
part = "ladder"
"""


def lived(
    book: Rulebook,
    told: str | list[Fact],
    *,
    as_of: str,
    what: Attributes = DC,
    holidays: Collection[date] = (),
) -> Ledger:
    """The ledger of a history under a rulebook."""
    day = date.fromisoformat(as_of)
    timeline = Timeline(
        attributes=(AttributesFrom(on=START, attributes=what),),
        rulebooks=(RulebookFrom(on=START, rulebook=book),),
        recorded_on=day,
        holidays=holidays,
    )
    given = facts(told) if isinstance(told, str) else told
    return replay(timeline=timeline, facts=given, left={}, as_of=day)


def due(ledger: Ledger) -> str:
    """The due date of what is open or coming, as text; `nothing` where nothing is."""
    return ledger.current.due_on.isoformat() if ledger.current is not None else "nothing"


def due_of(ledger: Ledger, kind: str) -> str:
    """The due date of one kind of work."""
    found = ledger.open_of(kind) or ledger.coming_of(kind)
    return found.due_on.isoformat() if found is not None else "nothing"
