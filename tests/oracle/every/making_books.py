"""Seeded random rulebooks in which every kind of rule occurs, alone and together."""

from __future__ import annotations

from random import Random
from typing import Any

from tests.oracle.every.asking import Book, Rule
from tests.oracle.every.making_ladders import ladder

RP = ["RP", "RPDA", "RPDA-II"]
DC = ["DC", "DCDA", "DCDA-II"]
LATER_KINDS = (
    {"name": "inspection", "met_by": ["inspection", "internal inspection"]},
    {"name": "internal inspection", "met_by": ["internal inspection"]},
    {"name": "forward flow", "met_by": ["forward flow"]},
    {"name": "air-gap inspection", "met_by": ["air-gap inspection"]},
)
WHO: tuple[dict[str, list[Any]], ...] = (
    {"type": RP},
    {"hazard": ["high"]},
    {"hazard": ["low"]},
    {"service": ["irrigation"]},
    {"service": ["fire"], "type": RP + DC},
    {"residential": [True]},
    {"residential": [True], "chemicals": [False], "service": ["irrigation"]},
    {"detector": [True]},
    {"part_year": [True]},
    {"protects": ["isolation"]},
    {"use": ["car wash", "school"]},
)
EVENTS = ("installed", "repaired", "relocated", "incident", "resumed", "reoccupied", "dewinterised")
SEASONS: tuple[Rule, ...] = (
    {"opens": (3, 1), "ends": (5, 31), "credit_from": (10, 1)},
    {"opens": (1, 1), "ends": (7, 31)},
    {"opens": (1, 1), "ends": (5, 31), "credit_from": (7, 1)},
    {"opens": (3, 30), "ends": (5, 31)},
    {"opens": (11, 1), "ends": (2, 28), "credit_from": (5, 1)},
    {"opens": (4, 1), "ends": (6, 30), "credit_from": (9, 1)},
)


def rulebook(random: Random, name: str) -> Book:
    """One rulebook; rules that name whom they catch come first, one for the rest last."""
    kinds: list[Rule] = [{"name": "test", "met_by": ["test"], "subject": "assembly"}]
    kinds += [
        dict(kind, subject="assembly")
        for kind in random.sample(LATER_KINDS, random.choice((0, 0, 1, 2)))
    ]
    kinds.append({"name": "survey", "met_by": ["survey"], "subject": "premises"})
    kinds.append({"name": "protection", "met_by": ["protection"], "subject": "service connection"})
    made = {
        "name": name,
        "kinds": kinds,
        "cycles": [rule for kind in kinds for rule in cycles_of(random, kind["name"])],
        "events": [rule for kind in kinds for rule in events_of(random, kind["name"])],
        "exempt": exemptions(random),
        "cures": purpose(random, (7, 10, 21, 30), often=0.95),
        "grace": purpose(random, (5, 10, 14), often=0.9)[-1:],
        "no_date": purpose(random, (30, 45, 60), often=1.0)[-1:],
        "transition": purpose(random, (30, 14, 60), often=0.95)[-1:],
        "repeats": repeats(random),
        "hindrances": hindrances(random),
    }
    names = [kind["name"] for kind in kinds]
    return made | {"rungs": ladder(Random(f"ladder of {name}"), names)}


def who(random: Random) -> dict[str, list[Any]]:
    return random.choice(WHO)


def cycles_of(random: Random, kind: str) -> list[Rule]:
    if kind == "protection":
        return []  # asked for by an event alone
    if kind == "survey":
        return [{**cycle(random, kind, {}, "rolling"), "every": ("months", 60)}]
    some = [cycle(random, kind, who(random)) for _ in range(random.choice((0, 1, 1, 2)))]
    if kind == "test" or random.random() < 0.8:
        some.append(cycle(random, kind, {}))
    return by_priority(random, some) if random.random() < 0.3 else some


def by_priority(random: Random, rules: list[Rule]) -> list[Rule]:
    """The same rules in any order, each with its priority written on it."""
    numbered = [rule | {"priority": number} for number, rule in enumerate(rules, start=1)]
    return random.sample(numbered, len(numbered))


def cycle(random: Random, kind: str, caught: dict[str, list[Any]], regime: str = "") -> Rule:
    """A cycle; it opens well before its shortest step."""
    rule: Rule = {
        "kind": kind,
        "who": caught,
        "regime": regime or random.choice(("rolling", "anniversary", "season")),
        "every": random.choice((("months", 12), ("months", 12), ("months", 6), ("months", 36))),
        "opens_days": random.choice((0, 30, 45, 60)),
        "early": 0,
        "late": 0,
        "month_end": random.random() < 0.15,
    }
    if rule["regime"] == "rolling":
        rule["every"] = random.choice((rule["every"], ("days", 365), ("months", 30)))
    if rule["regime"] == "anniversary":
        rule["every"] = ("months", random.choice((12, 12, 12, 36)))
        rule["early"] = random.choice((30, 45))
        rule["opens_days"] = rule["early"]
        rule["late"] = random.choice((0, 0, 30))
        if rule["late"]:
            rule["opens_days"] += rule["late"]
    if rule["regime"] == "season":
        rule["month_end"] = False  # refused: a season ends on its own day
        rule |= random.choice(SEASONS) | {"every": ("months", 12), "opens_days": 0}
    if random.random() < (0.5 if rule["regime"] == "anniversary" else 0.15):
        rule["cap"] = random.choice((("months", 12), ("months", 13), ("days", 365)))
    return rule


def events_of(random: Random, kind: str) -> list[Rule]:
    if kind == "protection":
        return [{"kind": kind, "event": "unprotected", "who": {}, **day_count(random, (30, 90))}]
    if kind == "survey":
        return []
    found: list[Rule] = []
    for event in EVENTS:
        odds = {"installed": 0.8, "repaired": 0.7, "relocated": 0.7}.get(event, 0.5)
        if random.random() > (odds if kind == "test" else 0.15):
            continue
        if random.random() < 0.15:
            found.append(event_rule(random, kind, event) | {"who": who(random)})
        found.append(event_rule(random, kind, event))
    return found


def event_rule(random: Random, kind: str, event: str) -> Rule:
    rule: Rule = {"kind": kind, "event": event, "who": {}, **day_count(random, (0, 5, 10, 30))}
    if event in ("resumed", "reoccupied", "dewinterised") and random.random() < 0.6:
        rule["idle_months"] = random.choice((3, 12))
    return rule


def day_count(random: Random, numbers: tuple[int, ...]) -> Rule:
    return {"days": random.choice(numbers), "working": random.random() < 0.3}


def exemptions(random: Random) -> list[Rule]:
    found: list[Rule] = [{"kind": "test", "who": {"type": ["AG", "AVB"]}}]
    if random.random() < 0.15:
        found.append({"kind": "test", "who": who(random)})
    return found


def purpose(random: Random, numbers: tuple[int, ...], *, often: float) -> list[Rule]:
    """Days for a purpose: one rule for some, one for the rest; sometimes none is given."""
    if random.random() > often:
        return []
    first = {"who": {"hazard": ["high"]}, **day_count(random, numbers)}
    return [first, {"who": {}, **day_count(random, numbers)}]


def repeats(random: Random) -> list[Rule]:
    if random.random() < 0.5:
        return []
    failures = random.choice((1, 2, 2))
    return [
        {
            "kind": "test",
            "who": random.choice(({}, {}, who(random))),
            "failures": failures,
            "of_last": failures + random.choice((0, 1)),
            "every": ("months", random.choice((3, 6))),
        }
    ]


def hindrances(random: Random) -> list[Rule]:
    if random.random() < 0.3:
        return []
    found: list[Rule] = [
        {"hindrances": ["no access"], "counts_as": "not tested", "who": {}},
        {
            "hindrances": ["submerged", "test cocks missing", "relief valve running"],
            "counts_as": random.choice(("failed", "failed", "not tested")),
            "who": random.choice(({}, {}, who(random))),
        },
    ]
    if random.random() < 0.4:
        found.append({"hindrances": [], "counts_as": "failed", "who": {}})
    return found
