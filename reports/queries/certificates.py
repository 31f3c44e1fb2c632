"""What certificates are made from, those that were made, and whether one still holds."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date

from django.db.models import Q, QuerySet

from notices.domain.codes import link_token, token_digest
from notices.domain.kinds import FireLine
from notices.domain.orders import fire_line_of
from registry.models import Calibration, Premises
from reports.domain.certificate_lines import PartTested
from reports.domain.certificates import (
    Genuine,
    Tested,
    certificate_name,
    core_sha256,
    genuineness,
)
from reports.domain.limits_text import LimitsError
from reports.domain.verdicts import Outcome
from reports.models import Certificate, FieldTest
from reports.queries.methods import UnknownMethodError, limits_in

MOST_SHOWN = 60
CERTIFIED = (Outcome.PASS.value, Outcome.FAIL.value)


def certifiable(tests: QuerySet[FieldTest]) -> QuerySet[FieldTest]:
    """Of these tests those a certificate is made on: counted, and passed or failed."""
    return tests.filter(counts=True, outcome__in=CERTIFIED, assembly__isnull=False)


def with_all_it_says(tests: QuerySet[FieldTest]) -> QuerySet[FieldTest]:
    """The tests with every row a certificate reads."""
    return tests.select_related(
        "program", "assembly__premises", "assembly__connection", "tester__firm", "gauge", "fact"
    )


def certified_at(premises: Sequence[int]) -> list[FieldTest]:
    """Counted tests at these premises, newest first. One query."""
    counted = certifiable(FieldTest.objects.filter(assembly__premises__in=premises))
    found = counted.exclude(fact__withdrawn_at__isnull=False)
    ordered = found.select_related("assembly__premises").order_by("-tested_on", "-pk")
    return list(ordered[:MOST_SHOWN])


def certificates_of(tests: Iterable[FieldTest]) -> dict[int, list[Certificate]]:
    """The certificates that say what these tests say now. One query, without their bytes."""
    by_pk = {test.pk: test for test in tests}
    found: dict[int, list[Certificate]] = {}
    for one in Certificate.objects.filter(field_test__in=by_pk).defer("pdf").order_by("language"):
        if one.core_sha256 == core_of(by_pk[one.field_test_id]):
            found.setdefault(one.field_test_id, []).append(one)
    return found


def what_was_tested(test: FieldTest) -> Tested:
    """A counted test as its certificate tells it. Two queries besides the rows at hand."""
    assembly = test.assembly
    if assembly is None:
        raise ValueError("a certificate needs an assembly of the registry")
    site, verdict = assembly.premises, test.verdict or {}
    parts = [
        PartTested(is_final=part == "final", criteria=tuple(verdict[part]["criteria"]))
        for part in ("initial", "final")
        if verdict.get(part)
    ]
    service = assembly.connection.kind
    fire = fire_line_of(
        service=service, type_=assembly.type, has_combined_fire=site.has_combined_fire
    )
    return Tested(
        program=str(test.program.letterhead.get("name") or test.program.name),
        number=number_of(test),
        type=assembly.type,
        size_in=assembly.size_in,
        maker=assembly.maker,
        model=assembly.model,
        serial=assembly.serial,
        location=assembly.location,
        premises=site.name,
        address=_address(site),
        on=test.tested_on,
        at=test.tested_at,
        tester=test.tester_name or (test.tester.name if test.tester else ""),
        tester_certificate=test.tester_certificate,
        company=test.tester.firm.name if test.tester else "",
        gauge=test.gauge_serial,
        gauge_calibrated_on=_calibrated_on(test),
        method=_method(test),
        unit=test.unit,
        passed=test.outcome == Outcome.PASS,
        repairs=test.repairs,
        parts=tuple(parts),
        is_on_fire_line=fire is not FireLine.NONE,
    )


def number_of(test: FieldTest) -> str:
    """The number of a test's certificate: `26-1125-417`."""
    return f"{test.tested_on:%y-%m%d}-{test.pk}"


def token_for(test: FieldTest, *, language: str, key: str) -> str:
    """The token of a certificate's link: worked out under a key, kept as a digest only."""
    name = certificate_name(
        program_code=test.program.code, digest=test.digest, core=core_of(test), language=language
    )
    return link_token(key=key, letter=name)


def core_of(test: FieldTest) -> str:
    """The digest of what a test says now."""
    return core_sha256(
        assembly_id=test.assembly_id,
        on=test.tested_on,
        outcome=test.outcome,
        verdict=test.verdict or {},
    )


def certificate_by_token(token: str) -> Certificate | None:
    """The certificate whose link it is; only digests are compared."""
    found = Certificate.objects.filter(token_hash=token_digest(token)).select_related(
        "program", "field_test__fact"
    )
    return found.defer("pdf").first()


@dataclass(frozen=True, kw_only=True)
class Standing:
    """What the record says of a certificate now; `later_on` is the day of a later test."""

    genuine: Genuine
    later_on: date | None


def standing_of(certificate: Certificate) -> Standing:
    """Whether a certificate is still what the record says. One query."""
    test = certificate.field_test
    later = certifiable(FieldTest.objects.filter(assembly=test.assembly_id)).filter(
        Q(tested_on__gt=test.tested_on) | Q(tested_on=test.tested_on, pk__gt=test.pk)
    )
    days = later.filter(Q(fact__isnull=True) | Q(fact__withdrawn_at__isnull=True))
    later_on = days.order_by("-tested_on").values_list("tested_on", flat=True).first()
    fact = test.fact
    return Standing(
        genuine=genuineness(
            counts=test.counts,
            fact_withdrawn=bool(fact and fact.withdrawn_at),
            core_kept=certificate.core_sha256,
            core_now=core_of(test),
            has_later=later_on is not None,
        ),
        later_on=later_on,
    )


def _address(site: Premises) -> str:
    town = " ".join(part for part in (site.state, site.zip) if part)
    return ", ".join(part for part in (site.address, site.city, town) if part)


def _calibrated_on(test: FieldTest) -> date | None:
    if test.gauge_id is None:
        return None
    known = Calibration.objects.filter(
        gauge=test.gauge_id, program=test.program_id, calibrated_on__lte=test.tested_on
    )
    return known.order_by("-calibrated_on").values_list("calibrated_on", flat=True).first()


def _method(test: FieldTest) -> str:
    """The method's title and name; the name alone where its text is gone."""
    try:
        return f"{limits_in(test.program, name=test.method).title} ({test.method})"
    except (UnknownMethodError, LimitsError):
        return test.method


@dataclass(frozen=True, kw_only=True)
class Offered:
    """A test's certificate in one language: made, or to be made."""

    language: str
    name: str
    made: Certificate | None


def offered_on(tests: Iterable[FieldTest]) -> dict[int, list[Offered]]:
    """What is offered on each of these tests, English first. One query."""
    listed = list(tests)
    made = certificates_of(listed)
    return {
        test.pk: [
            Offered(
                language=language,
                name=name,
                made=next((one for one in made.get(test.pk, []) if one.language == language), None),
            )
            for language, name in (("en", "English"), ("es", "Espa\u00f1ol"))
        ]
        for test in listed
    }
