"""Samples of the letters about appointments, whole in either language."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, date, datetime

from notices.catalogues import words_in
from notices.domain.addresses import MailingAddress, window_block
from notices.domain.briefs import Sender
from notices.domain.content import LetterContent
from notices.domain.kinds import FireLine
from notices.domain.plain_letters import Frame, framed
from reports.domain.appointment_letters import Appointment, AppointmentLetter, text_of
from tests.domain.notices.letters import ITEM

OFFICE = Sender(
    name="Tamarack Flats Water",
    line="Cross-connection control",
    phone="509 555 0100",
    email="office@waterclerk.example",
)
WITH_CAUTIONS = replace(
    ITEM, fire=FireLine.COMBINED, in_vault=True, has_tenants=True, has_medical_supply=True
)
VISIT = Appointment(
    place="12 Juniper St",
    starts=datetime(2026, 12, 7, 10, 20, tzinfo=UTC),
    ends=datetime(2026, 12, 7, 10, 55, tzinfo=UTC),
    tester="T. Vell",
    firm="Stillbrook Testing",
    items=(ITEM, WITH_CAUTIONS),
    was=datetime(2026, 12, 3, 9, 0, tzinfo=UTC),
    tell_occupants=True,
)


def appointment_letters(language: str) -> Iterator[tuple[str, LetterContent]]:
    """Yield each kind, with every caution."""
    for kind in AppointmentLetter:
        frame = Frame(
            kind=kind,
            number="26-1125-0001",
            leaves_on=date(2026, 11, 25),
            sender=OFFICE,
            address=window_block(
                MailingAddress(
                    name="Owner 1",
                    street="1 Juniper St",
                    city="Tamarack Flats",
                    state="WA",
                    zip="99171",
                )
            ),
        )
        yield (
            f"{kind}, {language}",
            framed(
                frame,
                text_in=lambda words, kind=kind: text_of(kind, VISIT, sender=OFFICE, words=words),  # type: ignore[misc]
                words=words_in(language),
            ),
        )
