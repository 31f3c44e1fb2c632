"""An owner with a letter handed over, a report with photo and signature, and two scans."""

from __future__ import annotations

import base64
import hashlib
import uuid
from dataclasses import dataclass
from datetime import UTC, date, datetime
from io import BytesIO
from typing import Any

from PIL import Image

from notices.actions.day import run_day
from notices.actions.handovers import keep_handover_photo
from notices.domain.kinds import Channel
from notices.models import Delivery
from registry.changes import Hand
from registry.domain.kinds import PictureKind
from registry.models import Assembly, Party, PictureRemoval, Premises, Program
from reports.actions.entries import FROM_DEVICE, Sender, take_entry
from reports.actions.entry_photos import keep_photo
from reports.actions.papers import keep_paper
from reports.domain.entry_body import read_body
from reports.erasing.removing import KEPT, remove_picture
from reports.ledger.checking import differences
from reports.ledger.sealing import head_of, seal
from reports.models import Paper
from tests.notices.offices import START, assembly, office, owner, premises

AT = datetime(2026, 1, 6, 15, tzinfo=UTC)
NOW = datetime(2027, 6, 1, 17, tzinfo=UTC)
HAND = Hand(by="Ada Birch", at=AT, reason="asked by letter of January 4")
SENDER = Sender(user_id=None, channel=FROM_DEVICE, hand=HAND, today=START)
ALL = list(PictureKind)


def picture(*, red: int, size: tuple[int, int] = (640, 480), kind: str = "JPEG") -> bytes:
    made = BytesIO()
    Image.linear_gradient("L").resize(size).convert("RGB").point(lambda v: v // 2 + red).save(
        made, kind
    )
    return made.getvalue()


def signature() -> str:
    image = Image.new("RGBA", (200, 80), (0, 0, 0, 0))
    for x in range(20, 180):
        image.putpixel((x, 40), (0, 0, 0, 255))
    made = BytesIO()
    image.save(made, "PNG")
    return "data:image/png;base64," + base64.b64encode(made.getvalue()).decode()


def record(one: Assembly, *, photo: bytes) -> dict[str, Any]:
    return {
        "id": str(uuid.UUID(int=7)),
        "form": "1",
        "assembly": one.pk,
        "type": "RP",
        "fields": {"serial": one.serial, "tested_on": "2026-01-05", "signed_name": "R. Odom"},
        "attestation": "I tested it.",
        "signature": {"png": signature()},
        "photos": [{"sha256": hashlib.sha256(photo).hexdigest()}],
    }


@dataclass
class Case:
    """An owner with a letter handed over, a report with photo and signature, and two scans."""

    program: Program
    party: Party
    site: Premises
    assembly: Assembly

    def pk(self, kind: PictureKind) -> int:
        rows = KEPT[kind].rows(self.program)
        if kind is PictureKind.SCAN:
            rows = rows.filter(entry__isnull=False)
        return int(rows.get().pk)

    def row(self, kind: PictureKind) -> Any:
        return KEPT[kind].rows(self.program).get(pk=self.pk(kind))

    def remove(self, kind: PictureKind, *, hand: Hand = HAND) -> PictureRemoval | None:
        return remove_picture(self.program, kind=kind, pk=self.pk(kind), hand=hand)

    def found(self) -> list[str]:
        return list(differences(self.program, head=head_of(self.program)))


def made_case() -> Case:
    """Make it through the real actions, and seal it."""
    program = office()
    party = owner(program, "Ines Holloway")
    site = premises(program, of=party)
    one = assembly(site, facts=(("passed", date(2023, 12, 1)), ("passed", date(2024, 12, 1))))
    run_day(program=program, as_of=START, now=NOW)
    Delivery.objects.update(channel=Channel.HAND)
    keep_handover_photo(Delivery.objects.get(), data=picture(red=40), hand=HAND)
    photo = picture(red=80)
    body = read_body(record(one, photo=photo))
    entry = take_entry(program=program, body=body, assembly=one, sender=SENDER).entry
    keep_photo(entry=entry, sha256=body.photos[0], data=photo, at=AT)
    for red, name in ((10, "Holloway test.png"), (20, "nobody keyed it.png")):
        data = picture(red=red, size=(900, 1200), kind="PNG")
        keep_paper(program=program, data=data, name=name, layout="", hand=HAND)
    keyed = Paper.objects.get(file_name__startswith="Holloway")
    other = {**record(one, photo=photo), "id": str(keyed.client_id), "photos": [], "signature": {}}
    other["paper"] = {"sha256": keyed.sha256, "file": keyed.file_name}
    keyed.entry = take_entry(
        program=program, body=read_body(other), assembly=one, sender=SENDER
    ).entry
    keyed.save()
    seal(program, on=START, at=AT)
    return Case(program, party, site, one)
