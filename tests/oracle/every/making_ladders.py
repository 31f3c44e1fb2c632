"""Seeded random ladders: advance notices, courtesies, receipts presumed, working days, kinds."""

from __future__ import annotations

from random import Random

from tests.oracle.every.asking import Rule


def ladder(random: Random, kinds: list[str]) -> list[Rule]:
    """Rungs for every kind; sometimes one kind has a ladder of its own."""
    found = rungs(random, "", [])
    later = [kind for kind in kinds if kind in ("internal inspection", "forward flow")]
    if later and random.random() < 0.5:
        found += rungs(random, "own-", later[:1])
    return found


def rungs(random: Random, start: str, kinds: list[str]) -> list[Rule]:
    def rung(key: str, trigger: str, number: int, **more: object) -> Rule:
        rule: Rule = {"key": start + key, "trigger": trigger, "days": number, "kinds": kinds}
        return rule | {"who": {}, "working": False} | more

    found = [rung("test-owed", "prompted", 0)]
    if random.random() < 0.3:
        found.append(rung("opening", "opened", random.choice((0, 3)), working=True))
    found.append(rung("reminder", "due", -45, skippable=True))
    if random.random() < 0.4:
        found.append(rung("certified", "due", random.choice((-30, -20)), latest=-15))
    number = random.choice((-15, -10))
    found.append(rung("second-reminder", "due", number, skippable=True, working=number == -10))
    found.append(rung("repair", "failed", random.choice((0, 0, 3)), working=True))
    found.append(rung("first-overdue", "due", random.choice((1, 1, 5)), working=bool(kinds)))
    if random.random() < 0.5:
        found[-1]["latest"] = 10
    if random.random() < 0.3:
        found[-1] |= {"again": random.choice((5, 7))} | random.choice(({}, {"times": 2}))
    for before, key in (("first", "second"), ("second", "final"), ("final", "order")):
        found.append(
            rung(
                key if key != "second" else "second-overdue",
                "due",
                1,
                after=start
                + {"first": "first-overdue", "second": "second-overdue"}.get(before, before),
                gap=random.choice((10, 14, 15)),
                presumed=random.choice((0, 0, 3, 5)),
                working=random.random() < 0.3,
                who=random.choice(({}, {}, {}, {"hazard": ["high"]})) if key == "order" else {},
                without_day=key == "order" and random.random() < 0.2,
            )
        )
    return found
