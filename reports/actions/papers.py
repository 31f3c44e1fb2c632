"""Reports on paper: kept once, keyed by one person or by two, and brought in as any report."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from uuid import uuid4

from django.db import transaction

from registry.changes import Hand
from registry.domain.kinds import AssemblyType, PictureKind
from registry.models import Assembly, Program
from registry.queries.removals import removal_of
from reports.actions.entries import Sender, take_entry
from reports.domain.entry_body import FORM_VERSION, read_body
from reports.domain.entry_report import unsaid
from reports.domain.keyed_twice import ASSEMBLY, TYPE, Difference, differences
from reports.models import FieldEntry, Paper, PaperKeying, PaperPage
from reports.papers.scans import read_scan
from reports.queries.entry_forms import asked_of

SIGNED = "Keyed from a report on paper, which is kept. Signed on the paper by {name}."
UNSIGNED = "Keyed from a report on paper, which is kept. The paper bears no signature."


class PaperError(ValueError):
    """What cannot be done with a paper; the message says why and what to do."""


@dataclass(frozen=True, kw_only=True)
class Keyed:
    """What one person read: the fields, the type, and the assembly where it was found."""

    fields: Mapping[str, str]
    assembly_type: AssemblyType
    assembly: Assembly | None

    def all_fields(self) -> dict[str, str]:
        """The fields with type and assembly among them, for holding against another's."""
        serial = self.assembly.serial if self.assembly else ""
        return {**self.fields, TYPE: self.assembly_type.value, ASSEMBLY: serial}


@dataclass(frozen=True, kw_only=True)
class KeyedPaper:
    """What became of a keying: an entry, or None where a second person is still to key it."""

    entry: FieldEntry | None
    differences: tuple[Difference, ...] = ()


def keep_paper(
    *, program: Program, data: bytes, name: str, layout: str, hand: Hand
) -> tuple[Paper, bool]:
    """Keep a scan as it came, and whether it is new: the same file again is the one kept first.

    Raises ScanError.
    """
    scan = read_scan(data)
    with transaction.atomic():
        paper, is_new = Paper.objects.get_or_create(
            program=program,
            sha256=scan.sha256,
            defaults={
                "client_id": uuid4(),
                "file_name": name[:200],
                "kind": scan.kind,
                "content": data,
                "page_count": scan.page_count,
                "layout": layout[:60],
                "received_at": hand.at,
                "by": hand.by,
            },
        )
        if is_new:
            PaperPage.objects.bulk_create(
                PaperPage(
                    paper=paper,
                    number=number,
                    content=page.content,
                    width=page.width,
                    height=page.height,
                )
                for number, page in enumerate(scan.pages, start=1)
            )
    return paper, is_new


@transaction.atomic
def key_paper(*, paper_id: int, keyed: Keyed, sender: Sender, by_two: bool) -> KeyedPaper:
    """Take what a person read from a paper.

    Keyed by one it is brought in at once. Keyed by two, the first reading waits; the second is
    brought in where both agree, else both are kept and the differences told. Raises PaperError.
    """
    paper = _open_paper(paper_id)
    if not by_two or sender.user_id is None:
        return KeyedPaper(entry=_bring_in(paper, keyed=keyed, sender=sender))
    if paper.keyings.filter(person_id=sender.user_id).exists():
        raise PaperError("You have keyed this paper. Another person keys it a second time.")
    first = paper.keyings.first()
    if paper.keyings.count() > 1:
        raise PaperError("Two people have keyed this paper. Settle what they read otherwise.")
    PaperKeying.objects.create(
        paper=paper,
        person_id=sender.user_id,
        by=sender.hand.by,
        type=keyed.assembly_type.value,
        assembly=keyed.assembly,
        fields=dict(keyed.fields),
        at=sender.hand.at,
    )
    if first is None:
        return KeyedPaper(entry=None)
    found = tuple(differences(keyed_of(first).all_fields(), keyed.all_fields()))
    if found:
        return KeyedPaper(entry=None, differences=found)
    return KeyedPaper(entry=_bring_in(paper, keyed=keyed, sender=sender))


@transaction.atomic
def settle_paper(*, paper_id: int, chosen: Mapping[str, str], sender: Sender) -> FieldEntry:
    """Bring in a paper that two people read otherwise, by what was chosen for each difference.

    `chosen` holds, by field, "first" or "second". Raises PaperError where one is left open.
    """
    paper = _open_paper(paper_id)
    readings = list(paper.keyings.all()[:2])
    if len(readings) < 2:
        raise PaperError("A second person has not keyed this paper yet.")
    first, second = (keyed_of(one) for one in readings)
    told = dict(second.all_fields())
    for one in differences(first.all_fields(), second.all_fields()):
        if chosen.get(one.field) not in {"first", "second"}:
            raise PaperError(f"Choose for “{one.label}”: “{one.first}” or “{one.second}”.")
        told[one.field] = one.first if chosen[one.field] == "first" else one.second
    by_assembly = first if told.pop(ASSEMBLY) == first.all_fields()[ASSEMBLY] else second
    keyed = Keyed(
        assembly_type=AssemblyType(told.pop(TYPE)), assembly=by_assembly.assembly, fields=told
    )
    return _bring_in(paper, keyed=keyed, sender=sender)


@transaction.atomic
def put_paper_aside(*, paper_id: int, hand: Hand) -> None:
    """Put a paper aside with the hand's reason: illegible, no report, a second copy.

    Raises PaperError where no reason is given, or it was keyed already.
    """
    paper = _open_paper(paper_id)
    if not hand.reason.strip():
        raise PaperError("Say why it is put aside; the sender is told in these words.")
    paper.put_aside, paper.put_aside_at = hand.reason[:300], hand.at
    paper.put_aside_by = hand.by
    paper.save(update_fields=["put_aside", "put_aside_at", "put_aside_by"])


@transaction.atomic
def take_paper_up(*, paper_id: int) -> None:
    """Let a paper that was put aside wait again; one whose scan was removed stays aside."""
    if removal_of(PictureKind.SCAN, paper_id) is not None:
        return
    Paper.objects.filter(pk=paper_id, entry__isnull=True).update(
        put_aside="", put_aside_at=None, put_aside_by=""
    )


def keyed_of(row: PaperKeying) -> Keyed:
    """A stored keying as it was read."""
    return Keyed(
        fields={str(name): str(value) for name, value in row.fields.items()},
        assembly_type=AssemblyType(row.type),
        assembly=row.assembly,
    )


def _open_paper(paper_id: int) -> Paper:
    paper = Paper.objects.select_for_update().defer("content").get(pk=paper_id)
    if paper.entry_id:
        raise PaperError("This paper was keyed already; see its receipt.")
    if paper.put_aside:
        raise PaperError("This paper was put aside. Take it up again first.")
    return paper


def _bring_in(paper: Paper, *, keyed: Keyed, sender: Sender) -> FieldEntry:
    name = keyed.fields.get("signed_name", "").strip()
    body = read_body(
        {
            "id": str(paper.client_id),
            "form": FORM_VERSION,
            "assembly": keyed.assembly.pk if keyed.assembly else None,
            "type": keyed.assembly_type.value,
            "fields": dict(keyed.fields),
            "attestation": SIGNED.format(name=name) if name else UNSIGNED,
            "paper": {"sha256": paper.sha256, "file": paper.file_name},
        }
    )
    taken = take_entry(program=paper.program, body=body, assembly=keyed.assembly, sender=sender)
    paper.entry = taken.entry
    paper.save(update_fields=["entry"])
    _say_what_is_unsaid(taken.entry, keyed=keyed, on=sender.today)
    return taken.entry


def _say_what_is_unsaid(entry: FieldEntry, *, keyed: Keyed, on: date) -> None:
    """Set beside what weighing found the items that the paper leaves out."""
    test = entry.field_test
    if test is None:
        return
    form = asked_of(
        program=entry.program,
        assembly_type=keyed.assembly_type,
        is_known=keyed.assembly is not None,
        on=on,
    )
    missing = unsaid(form, keyed.fields)
    if missing:
        test.warnings = [*test.warnings, f"the paper does not say: {'; '.join(missing)}"]
        test.save(update_fields=["warnings"])
