"""What service sheets are made from: assemblies with readings, cautions, causes and needs."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from django.db.models import QuerySet

from notices.domain.kinds import FireLine
from notices.domain.orders import fire_line_of
from registry.domain.kinds import AssemblyType
from registry.models import Assembly, Program
from reports.domain.bringing import USUAL_CONFIDENCE, Bring, Need, bring_list
from reports.domain.causes import symptoms_of
from reports.domain.service_sheets import Earlier, ServiceSheet, Visit, service_sheet
from reports.models import FieldTest
from reports.queries.bringing import counted_tests, needs_of
from reports.queries.causes import causes_of_part, shipped_causes
from reports.queries.entry_forms import Before, cautions_of, limits_for, readings_before
from reports.queries.trends import histories
from reports.wording.trends import falling_readings


@dataclass(frozen=True, kw_only=True)
class Taken:
    """The sheets of a visit or round, and what to bring for all of it."""

    sheets: tuple[ServiceSheet, ...]
    bring: tuple[Bring, ...]


def with_their_places(assemblies: QuerySet[Assembly]) -> QuerySet[Assembly]:
    """The assemblies with every row a sheet reads."""
    return assemblies.select_related("premises", "connection", "state")


def taken_along(
    assemblies: Sequence[Assembly], *, program: Program, on: date, confidence: int
) -> Taken:
    """The sheets for a day, in the order given. Raises NoRulebookError, UnknownMethodError."""
    limits = limits_for(program=program, on=on)
    tests = counted_tests(assemblies)
    needs = needs_of(assemblies, tests=tests, program=program, on=on)
    before = readings_before(assemblies)
    sheets = [
        service_sheet(
            _visit(
                one,
                tests=tests.get(one.pk, []),
                before=before.get(one.pk, {}),
                need=needs.get(one.pk),
            ),
            limits=limits,
        )
        for one in assemblies
    ]
    return Taken(
        sheets=tuple(sheets),
        bring=bring_list(list(needs.values()), confidence=confidence / 100),
    )


def _visit(
    one: Assembly,
    *,
    tests: Sequence[FieldTest],
    before: dict[str, list[Before]],
    need: Need | None,
) -> Visit:
    site, state = one.premises, getattr(one, "state", None)
    type_ = AssemblyType(one.type)
    fire = fire_line_of(
        service=one.connection.kind, type_=one.type, has_combined_fire=site.has_combined_fire
    )
    falling = falling_readings(histories(tests))
    last = tests[-1] if tests else None
    part = "final" if last and (last.verdict or {}).get("final") else "initial"
    address = ", ".join(text for text in (site.address, site.city) if text)
    return Visit(
        type=type_,
        size_in=one.size_in,
        maker=one.maker,
        model=one.model,
        serial=one.serial,
        location=one.location,
        premises=site.name,
        address=address,
        phone=site.phone,
        access_notes=site.access_notes,
        notice_days=site.notice_days,
        is_on_fire_line=fire is not FireLine.NONE,
        has_tenants=site.has_tenants,
        has_medical_supply=site.has_medical_supply,
        due_on=state.due_on if state else None,
        failed_on=state.failed_on if state else None,
        before={
            name: [Earlier(on=past.on, text=past.text) for past in told]
            for name, told in before.items()
        },
        cautions=cautions_of(one),
        causes=causes_of_part(last, part=part, type_=type_, falling=falling) if last else (),
        symptoms=symptoms_of(shipped_causes(), type_=type_),
        bring=bring_list([need], confidence=USUAL_CONFIDENCE / 100) if need else (),
    )
