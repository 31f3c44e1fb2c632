"""The gaps of a place's rulebook filled for the demo: invented, by name, and marked so."""

from __future__ import annotations

import tomllib
from collections.abc import Callable, Mapping
from typing import Any

from config.demo.district import AS_OF, LOGINS
from config.demo.invented_ladders import LADDERS, added, dated
from scheduling.domain.filling import fill_gap, is_filled, waive_gap
from scheduling.domain.gaps import Gap, Part
from scheduling.domain.rulebook import Rulebook
from scheduling.domain.rulebook_text import read_rulebook
from scheduling.domain.rulebook_toml import write_rulebook
from scheduling.domain.toml_text import toml_text
from scheduling.queries.shipped import shipped_text

ADMINISTRATOR = f"{LOGINS[0].first_name} {LOGINS[0].last_name}"
INVENTED = f"Invented for the demo by {ADMINISTRATOR}, administrator"
"""How every citation of an invented rule begins."""

Tables = dict[str, Any]
OPENS_DAYS = 60


def filled_text(place: str) -> str:
    """Return the rulebook of a place as TOML with every gap filled or waived by name.

    What was transcribed stays as it is. What is invented says so in its citation.
    """
    tables = tomllib.loads(shipped_text(place))
    gaps = [str(gap["part"]) for gap in tables.get("gap", [])]
    for gap in list(tables.get("gap", [])):
        fill = _FILLS.get(Part(gap["part"]))
        if fill is not None:
            fill(tables, gap)
    _fill_ladder(tables, place=place, has_gap=Part.LADDER in gaps)
    tables["title"] = f"{tables['title']} (gaps invented for the demo)"
    book = read_rulebook(toml_text(tables))
    for found in book.gap_list:
        book = _closed(book, found)
    return write_rulebook(book)


def _closed(book: Rulebook, gap: Gap) -> Rulebook:
    if is_filled(book, gap):
        return fill_gap(book, name=gap.name)
    reason = f"{INVENTED}: nothing is asked here."
    return waive_gap(book, name=gap.name, by=ADMINISTRATOR, on=AS_OF, reason=reason)


def _cited(words: str) -> Tables:
    return {"citation": f"{INVENTED}: {words}", "mark": "local"}


def _cycle(tables: Tables, gap: Mapping[str, Any]) -> None:
    """A year after the last pass, for whom the gap is about."""
    who = {name: gap[name] for name in ("types", "hazards", "services") if name in gap}
    kind = {"kind": gap["kind"]} if "kind" in gap else {}
    tables.setdefault("cycle", []).append(
        {
            "id": f"invented: {gap['name']}",
            **kind,
            **who,
            "regime": "rolling",
            "every": "FREQ=YEARLY",
            "opens_days": OPENS_DAYS,
            **_cited("once a year"),
        }
    )


def _opening(tables: Tables, _gap: Mapping[str, Any]) -> None:
    for cycle in tables.get("cycle", []):
        if cycle["regime"] != "season" and not cycle.get("opens_days"):
            cycle["opens_days"] = OPENS_DAYS
            cycle["citation"] += f" ({INVENTED}: opens {OPENS_DAYS} days before)"


def _credit(tables: Tables, _gap: Mapping[str, Any]) -> None:
    for cycle in tables.get("cycle", []):
        if cycle["regime"] == "season":
            cycle.setdefault("credit_from", "09-01")


def _event(tables: Tables, gap: Mapping[str, Any]) -> None:
    kind = {"kind": gap["kind"]} if "kind" in gap else {}
    for event in gap.get("events", []):
        tables.setdefault("event", []).append(
            {
                "id": f"invented: {event} {gap.get('kind', '')}".strip(),
                "event": event,
                "days": 30 if event == "unprotected" else 10,
                **kind,
                **_cited("so many days after it"),
            }
        )


def _cure(tables: Tables, _gap: Mapping[str, Any]) -> None:
    rule = {"id": "invented: days to cure", "days": 21, **_cited("a failure is cured in 21 days")}
    tables.setdefault("cure", []).append(rule)


def _single(name: str, days: int) -> Callable[[Tables, Mapping[str, Any]], None]:
    def fill(tables: Tables, gap: Mapping[str, Any]) -> None:
        words = f"{days} days"
        tables[name] = {"id": f"invented: {gap['name']}", "days": days, **_cited(words)}

    return fill


def _method(tables: Tables, _gap: Mapping[str, Any]) -> None:
    tables["method"] = {"name": "usc10", **_cited("the USC manual, 10th edition")}


def _gauge(tables: Tables, _gap: Mapping[str, Any]) -> None:
    tables["credentials"] = {
        "gauge_months": 12, **_cited("a calibration holds a year"),
        **{k: v for k, v in tables.get("credentials", {}).items() if k == "tester"},
    }  # fmt: skip


def _tester(tables: Tables, _gap: Mapping[str, Any]) -> None:
    credentials = tables.setdefault("credentials", {})
    credentials["tester"] = {"months": 36, **_cited("a certificate holds three years")}


def _report(tables: Tables, gap: Mapping[str, Any]) -> None:
    rule = {"id": "invented: report due", "days": 10, "about": list(gap.get("events", []))}
    tables.setdefault("report", []).append({**rule, **_cited("a report is in within 10 days")})


def _fill_ladder(tables: Tables, *, place: str, has_gap: bool) -> None:
    """Give undated rungs a day, and put what follows behind them."""
    if not has_gap:
        return
    rungs = tables.setdefault("rung", [])
    ladder = LADDERS.get(place, LADDERS[""])
    for rung in rungs:
        if rung.pop("without_day", False):
            rung.update(dated(ladder, key=rung["key"]))
            rung["citation"] = _marked(rung["citation"])
    rungs += [{**one, **_cited(words)} for one, words in added(ladder)]


def _marked(citation: str) -> str:
    """`Kansas City MO 78-299, its day invented …: a due letter`: a letter cites what is before."""
    head, _, rest = citation.partition(": ")
    return f"{head}, its day {INVENTED[0].lower()}{INVENTED[1:]}: {rest}"


_FILLS: dict[Part, Callable[[Tables, Mapping[str, Any]], None]] = {
    Part.CYCLE: _cycle,
    Part.OPENING: _opening,
    Part.CREDIT: _credit,
    Part.EVENT: _event,
    Part.CURE: _cure,
    Part.GRACE: _single("grace", 10),
    Part.NO_DATE: _single("no_date", 30),
    Part.TRANSITION: _single("transition", 30),
    Part.METHOD: _method,
    Part.GAUGE: _gauge,
    Part.TESTER: _tester,
    Part.REPORT: _report,
}
"""What stays without a fill (repeat failures, protection, what could not be tested) is waived."""
