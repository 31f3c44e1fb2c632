"""The figures of a program, laid out in tables from the kept board."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

from registry.models import Program
from reports.domain.ratios import Month, Ratio
from reports.queries.where_they_stand import SHOWN, Stands, stands_on
from scheduling.domain.standing import Standing
from scheduling.models import StandingBoard
from scheduling.queries.board_figures import PASSED

_PARTS = {"type": 1, "hazard": 2, "service": 3}
_NOT_RECORDED = "not recorded"
_RANK = {"high": 0, "low": 1, "not assessed": 2}


@dataclass(frozen=True, kw_only=True)
class ByWord:
    """One row of a table: the word, its counts in the order of the standings shown, its total."""

    word: str
    counts: list[int]
    total: int


@dataclass(frozen=True, kw_only=True)
class Figures:
    """What the page of figures shows."""

    on: date
    stands: Stands
    by_type: list[ByWord]
    by_hazard: list[ByWord]
    by_service: list[ByWord]
    months: list[Month]
    year: Ratio
    last_year: Ratio
    passed: Ratio


def figures(program: Program) -> Figures | None:
    """The board as tables: one indexed read; None before anything was loaded."""
    board = StandingBoard.objects.filter(program=program).first()
    if board is None:
        return None
    stands = stands_on(board)
    months = months_of(board.months, on=board.on)
    year = board.on.year
    return Figures(
        on=board.on,
        stands=stands,
        by_type=_by(board.counts, "type"),
        by_hazard=_by(board.counts, "hazard"),
        by_service=_by(board.counts, "service"),
        months=[month for month in months if month.first.year == year],
        year=_sum([month for month in months if month.first.year == year]),
        last_year=_sum([month for month in months if month.first.year == year - 1]),
        passed=Ratio(part=board.spans.get(PASSED, 0), whole=stands.in_registry),
    )


def months_of(kept: Mapping[str, int], *, on: date) -> list[Month]:
    """The months of last year and this one; a month is over once it has ended by `on`."""
    found: list[Month] = []
    for number in range(24):
        first = date(on.year - 1 + number // 12, number % 12 + 1, 1)
        name = f"{first:%Y-%m}"
        counts = {
            how: kept.get(f"{name}|{how}", 0) for how in ("in time", "late", "missed", "open")
        }
        found.append(
            Month(
                first=first,
                in_time=counts["in time"],
                late=counts["late"],
                not_tested=counts["missed"] + counts["open"],
                is_over=(first.year, first.month) < (on.year, on.month),
            )
        )
    return found


def _sum(months: list[Month]) -> Ratio:
    over = [month for month in months if month.is_over]
    return Ratio(part=sum(one.in_time for one in over), whole=sum(one.due for one in over))


def _by(counts: Mapping[str, int], what: str) -> list[ByWord]:
    table: dict[str, dict[str, int]] = defaultdict(lambda: defaultdict(int))
    for name, number in counts.items():
        parts = name.split("|")
        if parts[0] != Standing.REMOVED and len(parts) > _PARTS[what]:
            table[parts[_PARTS[what]]][parts[0]] += number
    rows = [
        ByWord(
            word=word or _NOT_RECORDED,
            counts=[stands.get(one.value, 0) for one in SHOWN],
            total=sum(stands.values()),
        )
        for word, stands in table.items()
    ]
    if what == "hazard":
        return sorted(rows, key=lambda row: _RANK.get(row.word, 3))
    return sorted(rows, key=lambda row: (-row.total, row.word))
