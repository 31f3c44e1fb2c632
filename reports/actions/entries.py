"""A form handed in: kept once under its own id, then weighed and stored as any other report."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from datetime import date

from django.db import transaction

from registry.changes import Hand
from registry.models import Assembly, Program, Question
from registry.photos import PictureError, redrawn_signature
from registry.sheets import Record, Sheet
from reports.actions.fieldtests import LoadedFile, LoadedTests, load_field_tests
from reports.domain.entry_body import EntryBody
from reports.domain.entry_report import cells_of
from reports.domain.entry_warnings import entry_warnings
from reports.models import EntryVersion, FieldEntry, FieldTest
from reports.queries.entry_forms import asked_of
from reports.queries.methods import UnknownMethodError
from scheduling.queries.rulebooks import NoRulebookError

TWO_VERSIONS = "two versions of a report"
UNREADABLE = "report that cannot be read"
FROM_PAGE, FROM_DEVICE, FROM_FILE, FROM_PAPER = "page", "device", "file", "paper"


@dataclass(frozen=True, kw_only=True)
class Sender:
    """Who sends, from where (page, device or file), and on which day of the program."""

    user_id: int | None
    channel: str
    hand: Hand
    today: date


@dataclass(frozen=True, kw_only=True)
class Taken:
    """An entry as it stands: `is_first` where this very sending stored it."""

    entry: FieldEntry
    is_first: bool
    is_other_version: bool = False


def take_entry(
    *, program: Program, body: EntryBody, assembly: Assembly | None, sender: Sender
) -> Taken:
    """Keep a record and bring its report in; the same record again gets its first receipt.

    Another body under an id that is taken is kept beside the first and asked about: nothing
    that reached us is turned away. A record that cannot be read as a report is kept whole with
    its faults, and waits for a person. `assembly` is the one the sender was shown, if any; which
    one the report means is decided by its serial, as for every report.
    """
    with transaction.atomic():
        entry, is_first = _kept(program=program, body=body, assembly=assembly, sender=sender)
        if not is_first:
            return _again(entry, body=body, sender=sender)
        _bring_in(entry, body=body, sender=sender)
    return Taken(entry=entry, is_first=True)


def _kept(
    *, program: Program, body: EntryBody, assembly: Assembly | None, sender: Sender
) -> tuple[FieldEntry, bool]:
    signature = _signature(body)
    return FieldEntry.objects.get_or_create(
        program=program,
        client_id=body.client_id,
        defaults={
            "body": body.plain,
            "body_sha256": body.sha256,
            "form_version": body.form_version,
            "channel": sender.channel,
            "person_id": sender.user_id,
            "by": sender.hand.by,
            "assembly": assembly,
            "receipt": f"{sender.today:%y%m%d}-{body.client_id.hex[:8]}".upper(),
            "attestation": body.attestation,
            "signed_how": body.signed_how if signature or body.signed_how == "typed" else "typed",
            "signed_name": body.fields.get("signed_name", "")[:200],
            "signature": signature or None,
            "signature_sha256": hashlib.sha256(signature).hexdigest() if signature else "",
            "handed_in_at": body.handed_in_at,
            "received_at": sender.hand.at,
        },
    )


def _signature(body: EntryBody) -> bytes:
    if not body.signature:
        return b""
    try:
        return redrawn_signature(body.signature)
    except PictureError:
        return b""


def _again(entry: FieldEntry, *, body: EntryBody, sender: Sender) -> Taken:
    if entry.body_sha256 == body.sha256:
        _claim(entry, sender=sender)
        return Taken(entry=entry, is_first=False)
    _, is_new = EntryVersion.objects.get_or_create(
        entry=entry,
        body_sha256=body.sha256,
        defaults={"body": body.plain, "by": sender.hand.by, "received_at": sender.hand.at},
    )
    if is_new:
        text = (
            f"Two versions of report {entry.receipt} came in under one number. Both are kept;"
            " the first is the one that was weighed. Look at both."
        )
        _ask(entry, kind=TWO_VERSIONS, key=body.sha256[:16], text=text, on=sender.today)
    return Taken(entry=entry, is_first=False, is_other_version=True)


def _claim(entry: FieldEntry, *, sender: Sender) -> None:
    """What an office took from a file belongs to whose device sends the very same record."""
    if entry.channel == FROM_FILE and sender.channel == FROM_DEVICE:
        entry.channel, entry.person_id, entry.by = FROM_DEVICE, sender.user_id, sender.hand.by
        entry.save(update_fields=["channel", "person", "by"])


def _bring_in(entry: FieldEntry, *, body: EntryBody, sender: Sender) -> None:
    try:
        with transaction.atomic():
            loaded = _loaded(entry, body=body, sender=sender)
        faults = [fault.as_json() for fault in loaded.rejected]
    except (NoRulebookError, UnknownMethodError) as error:
        loaded, faults = None, [{"column": None, "value": None, "message": str(error)}]
    if loaded and loaded.assessed:
        entry.field_test = _test_of(entry, loaded=loaded)
    entry.faults = faults
    entry.save(update_fields=["field_test", "faults"])
    _warn(entry.field_test, body=body)
    if faults:
        told = " ".join(str(fault["message"]) for fault in faults)
        text = f"Report {entry.receipt} cannot be read as it is: {told}"
        _ask(entry, kind=UNREADABLE, key="faults", text=text, on=sender.today)


def _loaded(entry: FieldEntry, *, body: EntryBody, sender: Sender) -> LoadedTests:
    form = asked_of(
        program=entry.program,
        assembly_type=body.assembly_type,
        is_known=body.assembly_id is not None,
        on=sender.today,
    )
    cells = cells_of(form, body.fields)
    sheet = Sheet(headers=tuple(cells), records=(Record(row=2, cells=tuple(cells.values())),))
    return load_field_tests(
        program=entry.program,
        sheet=sheet,
        file=LoadedFile(name=f"form {entry.receipt}", sha256=entry.body_sha256),
        method=None,
        as_of=sender.today,
        hand=sender.hand,
    )


def _test_of(entry: FieldEntry, *, loaded: LoadedTests) -> FieldTest | None:
    (assessed,) = loaded.assessed
    return FieldTest.objects.filter(program=entry.program, digest=assessed.report.digest()).first()


def _warn(test: FieldTest | None, *, body: EntryBody) -> None:
    """Set what only the form asks beside what weighing found."""
    if test is None:
        return
    found = [one for one in entry_warnings(body.fields) if one not in test.warnings]
    if found:
        test.warnings = [*test.warnings, *found]
        test.save(update_fields=["warnings"])


def _ask(entry: FieldEntry, *, kind: str, key: str, text: str, on: date) -> None:
    assembly = entry.assembly or (entry.field_test.assembly if entry.field_test else None)
    Question.objects.get_or_create(
        program=entry.program,
        key=f"entry:{entry.client_id}:{key}"[:200],
        defaults={
            "kind": kind[:60],
            "assembly": assembly,
            "premises": assembly.premises if assembly else None,
            "text": text[:500],
            "detail": {"entry": entry.pk, "receipt": entry.receipt},
            "raised_on": on,
        },
    )
