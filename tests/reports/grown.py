"""A program with years of field tests behind it: simulated readings, truly judged and stored."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import UTC, date, datetime
from decimal import Decimal

import numpy as np

from registry.domain.identity import maker_key, serial_key
from registry.domain.kinds import AssemblyType
from registry.models import Assembly, Premises, Program, ServiceConnection
from reports.domain.readings import Reading, ReadingName, Unit, Word
from reports.domain.two_parts import judge_parts
from reports.models import FieldTest
from reports.queries.methods import limits_of
from scheduling.models import AssemblyState
from tests.domain.reports.simulated_histories import LIMIT, TOWNS, courses

AT = datetime(2026, 11, 25, 20, tzinfo=UTC)
TODAY = date(2026, 11, 25)
_TWINS = frozenset({ReadingName.RELIEF, ReadingName.CHECK1, ReadingName.CHECK2_TIGHT})


def grown_program(program: Program, *, count: int, town: str = "hard water") -> list[Assembly]:
    """Give a program `count` RP assemblies, each with its tests up to this year."""
    rng = np.random.default_rng([7, count])
    site = Premises.objects.create(program=program, key="grown", address="5 Alder St")
    pipe = ServiceConnection.objects.create(premises=site, kind="domestic")
    made = Assembly.objects.bulk_create(
        Assembly(
            program=program,
            premises=site,
            connection=pipe,
            type=AssemblyType.RP,
            maker="Northfork",
            serial=f"R{place:04}",
            maker_key=maker_key("Northfork"),
            serial_key=serial_key(f"R{place:04}"),
            size_in=Decimal("0.75"),
            created_at=AT,
        )
        for place in range(count)
    )
    for assembly, course in zip(made, courses(TOWNS[town], count=count, rng=rng), strict=True):
        shift = date(2026, 11, 1) - course[-1].on
        checks = [round(5.4 + float(rng.gamma(2, 0.6)), 1) for _ in course]
        FieldTest.objects.bulk_create(
            field_test(
                assembly,
                on=one.on + shift,
                initial={ReadingName.RELIEF: _reading(one.found), ReadingName.CHECK1: _reading(c)},
                final={ReadingName.RELIEF: _reading(one.left)} if one.was_repaired else {},
            )
            for one, c in zip(course, checks, strict=True)
        )
    AssemblyState.objects.bulk_create(
        AssemblyState(
            assembly=one,
            program=program,
            installed_on=date(2012, 5, 1),
            due_on=date(2027, 11, 1),
            replayed_as_of=TODAY,
            replayed_at=AT,
        )
        for one in made
    )
    return made


def field_test(
    assembly: Assembly,
    *,
    on: date,
    initial: dict[ReadingName, Reading],
    final: dict[ReadingName, Reading] | None = None,
    **more: object,
) -> FieldTest:
    """A counted test, judged by the manual's 10th edition; nothing is stored yet."""
    steady = {ReadingName.CHECK2_TIGHT: Word.CLOSED_TIGHT, ReadingName.SHUTOFF2_TIGHT: Word.YES}
    after: dict[ReadingName, Reading] = {}
    if final:
        after = {ReadingName.CHECK1: initial[ReadingName.CHECK1], **steady, **final}
    parts = judge_parts(
        limits_of("usc10"),
        assembly_type=AssemblyType(assembly.type),
        unit=Unit.PSID,
        initial={**steady, **initial},
        final=after,
        twins=_TWINS,
        repaired=bool(final),
    )
    told = {
        "program": assembly.program,
        "assembly": assembly,
        "digest": f"{assembly.pk}-{on}",
        "serial": assembly.serial,
        "tested_on": on,
        "method": "usc10",
        "initial": {name.value: _text(reading) for name, reading in initial.items()},
        "final": {name.value: _text(reading) for name, reading in after.items()},
        "repairs": "Rubber kit" if final else "",
        "as_found": parts.initial.outcome.value,
        "outcome": parts.outcome.value,
        "verdict": {
            "initial": parts.initial.plain(),
            "final": parts.final.plain() if parts.final else None,
        },
        "counts": True,
        "recorded_at": AT,
        "tester_certificate": "T-1000",
        "gauge_serial": "G0770",
    }
    return FieldTest(**{**told, **more})


def stored(tests: Iterable[FieldTest]) -> list[FieldTest]:
    """The tests, stored."""
    return FieldTest.objects.bulk_create(list(tests))


def _reading(figure: float | None) -> Reading:
    return Word.DID_NOT_OPEN if figure is None else Decimal(f"{max(figure, 0):.1f}")


def _text(reading: Reading) -> str:
    return f"{reading:f}" if isinstance(reading, Decimal) else str(reading or "")


assert LIMIT == 2.0, "the simulated relief valves stand against the manual's limit"
