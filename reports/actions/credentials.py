"""Certificates and calibrations as a program records, shortens, strikes and keeps them."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from django.db import IntegrityError, transaction

from registry.changes import Hand, record_change
from registry.models import Calibration, Certification, Gauge, Program, Tester
from reports.actions.lapses import mark_tests_of

MOST_BYTES = 5_000_000
_BEGINNINGS = (b"%PDF-", b"\x89PNG\r\n\x1a\n", b"\xff\xd8\xff")


class CredentialError(ValueError):
    """What cannot be kept of a credential; carries the field, and the message says what to do."""

    def __init__(self, *, field: str, message: str) -> None:
        super().__init__(message)
        self.field = field
        self.message = message


@dataclass(frozen=True, kw_only=True)
class TermTold:
    """One term of a certificate as a person wrote it."""

    number: str
    issued_by: str
    classes: str
    valid_from: date
    valid_to: date


@dataclass(frozen=True, kw_only=True)
class CalibrationTold:
    """One calibration as a person wrote it, with its certificate where there is one."""

    calibrated_on: date
    as_found_error_psid: Decimal | None
    file_name: str = ""
    content: bytes = b""


@transaction.atomic
def keep_term(
    *, program: Program, tester: Tester, told: TermTold, today: date, hand: Hand
) -> Certification:
    """Add a term of a certificate; a tester may hold several. Raises CredentialError."""
    if told.valid_to < told.valid_from:
        message = "The certificate ends before it begins. Mend one of the days."
        raise CredentialError(field="valid_to", message=message)
    row, is_new = Certification.objects.get_or_create(
        tester=tester,
        program=program,
        valid_from=told.valid_from,
        valid_to=told.valid_to,
        defaults={"number": told.number, "issued_by": told.issued_by, "classes": told.classes},
    )
    if not is_new:
        message = "A term of these two days is on record already. End that one, or mend the days."
        raise CredentialError(field="valid_from", message=message)
    _changed(row, program=program, hand=hand, after={"term": f"{told.valid_from}/{told.valid_to}"})
    mark_tests_of(program=program, tester=tester, as_of=today, hand=hand)
    return row


@transaction.atomic
def end_term(
    *, program: Program, term_id: int, ended_on: date, why: str, today: date, hand: Hand
) -> int:
    """Say that a term did not hold from a day on: withdrawn, or shortened.

    Gives how many tests are marked for a person by it. Raises CredentialError.
    """
    row = _row(Certification, program=program, pk=term_id)
    assert isinstance(row, Certification)
    if not why.strip():
        raise CredentialError(field="why", message="Say why it ended: withdrawn, entered wrongly.")
    row.ended_on, row.ended_why = ended_on, why.strip()[:300]
    row.save(update_fields=["ended_on", "ended_why"])
    _changed(row, program=program, hand=hand, after={"ended_on": str(ended_on), "why": why})
    return mark_tests_of(program=program, tester=row.tester, as_of=today, hand=hand)


@transaction.atomic
def keep_calibration(
    *, program: Program, gauge: Gauge, told: CalibrationTold, today: date, hand: Hand
) -> int:
    """Add a calibration of a gauge, or its certificate to one on record.

    Gives how many tests are marked for a person: those done since the calibration before with
    a gauge that this one found to be off. Raises CredentialError.
    """
    if told.calibrated_on > today:
        message = f"{told.calibrated_on} is still to come. Write the day of the calibration."
        raise CredentialError(field="calibrated_on", message=message)
    _check_file(told)
    try:
        with transaction.atomic():
            row, _ = Calibration.objects.defer("certificate").get_or_create(
                gauge=gauge, program=program, calibrated_on=told.calibrated_on
            )
    except IntegrityError as error:
        message = "That calibration was being written at the same moment. Try again."
        raise CredentialError(field="calibrated_on", message=message) from error
    row.struck_at, row.struck_why = None, ""
    if told.as_found_error_psid is not None:
        row.as_found_error_psid = told.as_found_error_psid
    if told.content:
        row.certificate, row.certificate_name = told.content, told.file_name[:200]
        row.certificate_sha256 = hashlib.sha256(told.content).hexdigest()
    row.save()
    after = {"calibrated_on": str(told.calibrated_on), "error": str(row.as_found_error_psid or "")}
    _changed(row, program=program, hand=hand, after=after)
    return mark_tests_of(program=program, gauge=gauge, as_of=today, hand=hand)


@transaction.atomic
def strike_calibration(
    *, program: Program, calibration_id: int, why: str, today: date, hand: Hand
) -> int:
    """Say that a calibration on record is wrong; it stays, struck through, and backs no test.

    Gives how many tests are marked for a person by it. Raises CredentialError.
    """
    row = _row(Calibration, program=program, pk=calibration_id)
    assert isinstance(row, Calibration)
    if not why.strip():
        raise CredentialError(field="why", message="Say what is wrong with this calibration.")
    row.struck_at, row.struck_why = hand.at, why.strip()[:300]
    row.save(update_fields=["struck_at", "struck_why"])
    _changed(row, program=program, hand=hand, after={"struck": why})
    return mark_tests_of(program=program, gauge=row.gauge, as_of=today, hand=hand)


def _check_file(told: CalibrationTold) -> None:
    if not told.content:
        return
    if len(told.content) > MOST_BYTES:
        message = "The certificate is larger than 5 MB. Send a smaller scan."
        raise CredentialError(field="certificate", message=message)
    if not told.content.startswith(_BEGINNINGS):
        message = "The certificate is no PDF, PNG or JPEG. Send one of these."
        raise CredentialError(field="certificate", message=message)


def _row(
    kind: type[Certification | Calibration], *, program: Program, pk: int
) -> Certification | Calibration:
    row = kind.objects.filter(program=program, pk=pk).first()
    if row is None:
        raise CredentialError(field="row", message="This program has no such record.")
    return row


def _changed(
    row: Certification | Calibration, *, program: Program, hand: Hand, after: dict[str, str]
) -> None:
    record_change(
        hand=hand,
        what=row._meta.model_name or "",
        subject_id=row.pk,
        label=str(row),
        before={},
        after=after,
        program=program,
    )
