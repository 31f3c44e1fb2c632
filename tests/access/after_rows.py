"""A counted test with its certificate, for the fixed cast."""

from __future__ import annotations

from datetime import UTC, date, datetime

from django.conf import settings

from registry.changes import Hand
from registry.models import Assembly, Program, Tester
from reports.actions.certificates import make_certificate
from reports.models import Certificate, FieldTest
from reports.queries.certificates import token_for

AT = datetime(2026, 11, 25, 20, tzinfo=UTC)


def _criterion(name: str, reading: str, limit: str, margin: str) -> dict[str, object]:
    told = {"name": name, "reading": reading, "limit": limit, "margin": margin}
    return {**told, "met": True, "citation": "An example"}


def rows_after(program: Program, assembly: Assembly, tester: Tester) -> dict[str, int]:
    """Give the assembly a counted pass of an earlier year and its certificate."""
    criteria = [
        _criterion("relief", "2.6", "2.0", "0.6"),
        _criterion("check1", "7.0", "5.0", "2.0"),
    ]
    part = {"outcome": "pass", "criteria": criteria, "reasons": [], "warnings": []}
    test = FieldTest.objects.create(
        program=program,
        assembly=assembly,
        digest="a" * 64,
        serial=assembly.serial,
        tested_on=date(2024, 3, 4),
        tester=tester,
        tester_certificate=tester.certificate,
        tester_name=tester.name,
        method="usc10",
        outcome="pass",
        as_found="pass",
        initial={"relief": "2.6", "check1": "7.0"},
        verdict={"initial": part, "final": None},
        counts=True,
        recorded_at=AT,
    )
    made = make_certificate(test_id=test.pk, language="en", hand=Hand(by="test", at=AT))
    return {"counted": test.pk, "certificate": made.pk}


def token_of_certificate(pk: int) -> str:
    """The token in the code of a certificate."""
    made = Certificate.objects.select_related("field_test__program").get(pk=pk)
    return token_for(made.field_test, language=made.language, key=settings.LINK_KEY)
