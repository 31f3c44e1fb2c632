"""A term, a calibration with its certificate, a find and own limits, for the fixed cast."""

from __future__ import annotations

from datetime import UTC, date, datetime

from notices.models import Letter, LetterFile
from registry.models import Calibration, Certification, Firm, Gauge, Program, Tester
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
        "firm letter": _letter_to(tester.firm, program=program).pk,
    }


def _letter_to(firm: Firm, *, program: Program) -> Letter:
    """A letter to the testing company that left, with its bytes."""
    letter = Letter.objects.create(
        program=program,
        number="26-1125-0901",
        kind="reports-to-mend",
        recipient_key=f"firm:{firm.pk}",
        address_lines=[firm.name],
        content={"title": "A report does not count", "headline": [], "paragraphs": []},
        composed_on=date(2026, 11, 25),
        mailing_on=date(2026, 11, 25),
        channel="e-mail",
        state="left",
        left_on=date(2026, 11, 25),
        token_hash=f"{program.code} to a company",
        short_code=f"{program.code[:3]}-F",
        created_at=AT,
    )
    LetterFile.objects.create(
        letter=letter, pdf=b"%PDF-1.4 kept", sha256="0" * 64, pages=1, stored_at=AT
    )
    return letter
