"""What our fields hold for a stored test: the report's own words, then the program's record."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence

from registry.models import Calibration, Certification, PremisesParty
from reports.domain.entry_items import ITEMS
from reports.models import FieldEntry, FieldTest

Values = Mapping[str, str]


def values_of(
    tests: Sequence[FieldTest], *, in_sight: Collection[int] | None = None
) -> list[dict[str, str]]:
    """Our fields by name for each test; what neither report nor record says is left out.

    Of assemblies that are not `in_sight` (None: all are) only the report itself is told, and
    nothing of the registry. Days are ISO. Five queries, however many tests.
    """
    record = _Record(tests)
    return [
        _values(test, record, is_seen=in_sight is None or test.assembly_id in in_sight)
        for test in tests
    ]


class _Record:
    """The program's record of the testers, gauges, owners and entries of some tests."""

    def __init__(self, tests: Sequence[FieldTest]) -> None:
        self.terms: dict[int, list[Certification]] = {}
        self.calibrations: dict[int, list[Calibration]] = {}
        self.owners: dict[int, PremisesParty] = {}
        self.entries: dict[int, FieldEntry] = {}
        programs = {test.program_id for test in tests}
        testers = {test.tester_id for test in tests if test.tester_id}
        gauges = {test.gauge_id for test in tests if test.gauge_id}
        sites = {test.assembly.premises_id for test in tests if test.assembly}
        for term in Certification.objects.filter(tester__in=testers, program__in=programs):
            self.terms.setdefault(term.tester_id, []).append(term)
        calibrations = Calibration.objects.filter(gauge__in=gauges, program__in=programs)
        for one in calibrations.order_by("calibrated_on"):
            self.calibrations.setdefault(one.gauge_id, []).append(one)
        owners = PremisesParty.objects.filter(premises__in=sites, until_on=None, role="owner")
        for owner in owners.select_related("party").order_by("-pk"):
            self.owners[owner.premises_id] = owner
        entries = FieldEntry.objects.filter(field_test__in=[test.pk for test in tests])
        for entry in entries.defer("signature").order_by("-pk"):
            if entry.field_test_id:
                self.entries[entry.field_test_id] = entry


def _values(test: FieldTest, record: _Record, *, is_seen: bool) -> dict[str, str]:
    entry = record.entries.get(test.pk)
    told = {name: str(test.cells.get(item.header) or "") for name, item in ITEMS.items()}
    if entry is not None:
        fields = entry.body.get("fields") or {}
        told |= {str(name): str(value) for name, value in fields.items() if value}
        told |= {"receipt": entry.receipt, "signed_name": entry.signed_name}
    told = {name: value for name, value in told.items() if value}
    registry = _of_registry(test, record) if is_seen else {"serial": test.serial}
    values = {**_of_test(test), **_of_record(test, record)}
    values = {**registry, **told, **values, "serial": registry.get("serial") or test.serial}
    return {name: value for name, value in values.items() if value}


def _of_registry(test: FieldTest, record: _Record) -> dict[str, str]:
    assembly = test.assembly
    if assembly is None:
        return {}
    site = assembly.premises
    owner = record.owners.get(site.pk)
    party = owner.party if owner else None
    where = f"{party.address}, {party.city} {party.state} {party.zip}" if party else ""
    return {
        "serial": assembly.serial,
        "premises": site.name or site.address,
        "address": site.address,
        "contact": site.phone,
        "account": site.account,
        "city": site.city,
        "state": site.state,
        "zip": site.zip,
        "type": assembly.type,
        "maker": assembly.maker,
        "model": assembly.model,
        "size": f"{assembly.size_in.normalize():f}",
        "location": assembly.location,
        "protects": assembly.protects,
        "hazard": assembly.hazard,
        "service": assembly.connection.kind,
        "owner": party.name if party else "",
        "owner_address": where.strip(", "),
    }


def _of_test(test: FieldTest) -> dict[str, str]:
    values = {
        "tested_on": test.tested_on.isoformat(),
        "tested_at": f"{test.tested_at:%H:%M}" if test.tested_at else "",
        "tester_name": test.tester_name or (test.tester.name if test.tester else ""),
        "certificate": test.tester_certificate,
        "firm": test.tester.firm.name if test.tester else "",
        "gauge_serial": test.gauge_serial,
        "unit": test.unit,
        "repairs": test.repairs,
        "remarks": test.remarks,
        "as_found": test.as_found,
        "outcome": test.outcome,
        "method": test.method,
    }
    for part, readings in (("initial", test.initial), ("final", test.final or {})):
        values |= {f"{part}_{name}": str(text) for name, text in readings.items() if text}
    # The shutoff valve and the meter have no twin after repair; a form asks for them by name.
    for name in ("shutoff1_tight", "shutoff2_tight", "meter_moved"):
        values.setdefault(name, values.get(f"initial_{name}", ""))
    return {name: value for name, value in values.items() if value}


def _of_record(test: FieldTest, record: _Record) -> dict[str, str]:
    values = {}
    terms = record.terms.get(test.tester_id or 0, [])
    holds = [one for one in terms if one.valid_from <= test.tested_on <= one.valid_to]
    if holds:
        values["certificate_ends_on"] = max(one.valid_to for one in holds).isoformat()
    done = record.calibrations.get(test.gauge_id or 0, [])
    before = [one.calibrated_on for one in done if one.calibrated_on <= test.tested_on]
    if before:
        values["gauge_calibrated_on"] = before[-1].isoformat()
    return values
