"""A term, a calibration with its certificate, a find and own limits, for the fixed cast."""

from __future__ import annotations

from datetime import UTC, date, datetime

from registry.models import Calibration, Certification, Gauge, Program, Tester
from reports.models import FieldTest, FoundAssembly, OwnMethod
from reports.queries.methods import method_text

AT = datetime(2026, 11, 25, 20, tzinfo=UTC)


def rows_judging(
    program: Program, *, tester: Tester, gauge: Gauge, test: FieldTest
) -> dict[str, int]:
    """The rows behind the addresses of judging."""
    calibration = Calibration.objects.get(gauge=gauge, program=program)
    calibration.certificate, calibration.certificate_sha256 = b"%PDF-1.4", "e" * 64
    calibration.save()
    found = FoundAssembly.objects.create(
        program=program,
        field_test=test,
        stated={"serial": "A100", "address": "7 Larch Ct"},
        raised_on=date(2026, 11, 25),
        settled_at=AT,
        settled_how="misread",
    )
    own = OwnMethod.objects.create(
        program=program,
        name="district",
        copied_from="usc10",
        text=method_text("usc10").replace('name = "usc10"', 'name = "district"'),
        sha256="d" * 64,
        made_at=AT,
        by="test",
    )
    return {
        "term": Certification.objects.get(tester=tester, program=program).pk,
        "calibration": calibration.pk,
        "found": found.pk,
        "own method": own.pk,
    }
