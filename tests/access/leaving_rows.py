"""A letter's way out, for the fixed cast: an e-mail that may have left, a stopped address."""

from __future__ import annotations

from datetime import UTC, date, datetime

from notices.models import Delivery, Letter, MailStop, OrderMove, PaperRun, QuietDays

AT = datetime(2026, 11, 25, 20, tzinfo=UTC)


def rows_leaving(letter: Letter) -> dict[str, int]:
    """Give the letter an e-mail that may have left; return what was made, by kind."""
    mail = Delivery.objects.create(
        letter=letter,
        channel="e-mail",
        state="held",
        address="owner@example.org",
        message_id=f"<{letter.pk:032x}@waterclerk.example>",
        tries=3,
    )
    stop = MailStop.objects.create(
        program=letter.program, address="gone@example.org", words="5.1.1 unknown", since_at=AT
    )
    run = PaperRun.objects.create(
        program=letter.program,
        number=1,
        channel="mail",
        made_on=date(2026, 11, 25),
        made_at=AT,
        made_by="a clerk",
        letters=0,
        sheets=0,
    )
    quiet = QuietDays.objects.create(
        program=letter.program, from_on=date(2027, 1, 1), to_on=date(2027, 1, 1), why="New Year",
        made_by="test", made_at=AT,
    )  # fmt: skip
    move = OrderMove.objects.create(
        program=letter.program, group="ZIP", value="99004", is_forward=True,
        reason="Pipes are renewed.",
        made_by="test", made_at=AT,
    )  # fmt: skip
    return {
        "quiet": quiet.pk,
        "move": move.pk,
        "delivery": mail.pk,
        "stop": stop.pk,
        "paper run": run.pk,
    }
