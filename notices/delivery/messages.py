"""A letter as an e-mail: text and HTML from the same content, its kept bytes attached."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from email.headerregistry import Address
from email.message import EmailMessage
from email.policy import SMTP
from email.utils import format_datetime

from django.conf import settings
from django.template.loader import render_to_string

from notices.catalogues import words_in
from notices.domain.cleaning import clean
from notices.domain.content import LetterContent, OtherText, Table, content_from_plain
from notices.domain.kinds import COURTESY_KINDS
from notices.links import owner_link, token_of
from notices.models import Delivery, Letter

SUBJECT_CAP = 150
NAME_CAP = 100


@dataclass(frozen=True, slots=True)
class _Spoken:
    """What a letter says in one language, and the words an e-mail adds in it."""

    said: LetterContent | OtherText
    words: dict[str, str]


def message_of(delivery: Delivery, *, at: datetime) -> EmailMessage:
    """Return the message of a delivery. Only its Date differs from one try to the next.

    Everything that stands in a header is on one line and free of controls; the library
    refuses what is not.
    """
    letter = delivery.letter
    content = content_from_plain(letter.content)
    link = owner_link(token_of(program_code=letter.program.code, number=letter.number))
    is_courtesy = letter.kind in COURTESY_KINDS
    message = EmailMessage(policy=SMTP)
    message["From"] = _named(content.letterhead.name, address=settings.MAIL_FROM_ADDRESS)
    message["To"] = _named(_first_line(content), address=delivery.address)
    reply_to = str(letter.program.letterhead.get("email", "")).strip()
    if "@" in reply_to and reply_to != settings.MAIL_FROM_ADDRESS:
        message["Reply-To"] = _named("", address=clean(reply_to))
    message["Subject"] = clean(f"{content.title}: {content.headline[0]}", cap=SUBJECT_CAP)
    message["Date"] = format_datetime(at)
    message["Message-ID"] = delivery.message_id
    message["Auto-Submitted"] = "auto-generated"  # RFC 3834: no vacation notice answers it
    if is_courtesy:
        # RFC 8058; a lawful notice cannot be declined, so it has no such header.
        message["List-Unsubscribe"] = f"<{link}/reminders>"
        message["List-Unsubscribe-Post"] = "List-Unsubscribe=One-Click"
    said = (content, *([content.other] if content.other else ()))
    parts = [_Spoken(one, _words(one.language, link=link, is_courtesy=is_courtesy)) for one in said]
    message.set_content("\n".join(_text(content, parts=parts)), cte="quoted-printable")
    page = render_to_string("notices/mail.html", {"content": content, "parts": parts})
    message.add_alternative(page, subtype="html", cte="quoted-printable")
    _add_invitation(message, letter=letter)
    message.add_attachment(
        bytes(letter.file.pdf),
        maintype="application",
        subtype="pdf",
        filename=f"{letter.number}.pdf",
    )
    return message


def _add_invitation(message: EmailMessage, *, letter: Letter) -> None:
    """The calendar part comes last of the alternatives: only then do readers offer their buttons.

    RFC 6047, section 2.4: its method stands in the type as well as in the calendar.
    """
    invitation = getattr(letter, "invitation", None)
    if invitation is not None:
        message.add_alternative(
            invitation.text,
            subtype="calendar",
            cte="quoted-printable",
            params={"method": invitation.method},
        )


def envelope_sender(delivery: Delivery) -> str:
    """Return where a bounce of this e-mail comes to: an address that names the letter."""
    if not settings.BOUNCE_ADDRESS:
        return str(settings.MAIL_FROM_ADDRESS)
    name, _, host = str(settings.BOUNCE_ADDRESS).rpartition("@")
    token = delivery.message_id.strip("<>").partition("@")[0]
    return f"{name}+{token}@{host}"


def _named(name: str, *, address: str) -> Address:
    local, _, domain = address.rpartition("@")
    return Address(
        display_name=clean(name, cap=NAME_CAP),
        username=local,
        domain=domain.encode("idna").decode("ascii") if not domain.isascii() else domain,
    )


def _first_line(content: LetterContent) -> str:
    return content.address_lines[0] if content.address_lines else ""


def _words(language: str, *, link: str, is_courtesy: bool) -> dict[str, str]:
    """The few words an e-mail has besides the letter's own, in a language of the letter."""
    tell = words_in(language).gettext
    found = {
        "attached": tell("The letter is attached as a PDF, as we keep it."),
        "page": tell("Your page for this letter:"),
        "link": link if language == "en" else f"{link}?lang={language}",
    }
    if is_courtesy:
        found["stop"] = tell("To get reminders on paper instead of by e-mail:")
        found["stop_link"] = f"{link}/reminders"
    return found


def _text(content: LetterContent, *, parts: Sequence[_Spoken]) -> Iterator[str]:
    for place, part in enumerate(parts):
        if place:
            yield from ("", "* * *", "")
        yield from part.said.headline
        if part.said is content and content.second_headline:
            yield content.second_headline
        yield from _said(part.said, words=part.words)
    yield from ("", "-- ", content.letterhead.name, content.letterhead.line)
    yield from content.letterhead.contact
    yield from (f"{pair.label}: {pair.value}" for pair in content.reference)


def _said(said: LetterContent | OtherText, *, words: dict[str, str]) -> Iterator[str]:
    """What a letter says in one language, after its headline."""
    for paragraph in said.paragraphs:
        yield from ("", paragraph)
    yield ""
    if not said.table.title:
        yield from _rows(said.table)
    yield said.steps_heading
    yield from (f"{place}. {step}" for place, step in enumerate(said.steps, 1))
    yield from ("", f"{words['page']} {words['link']}")
    for section in said.sections:
        yield from ("", section.heading, *section.paragraphs)
    if said.closing:
        yield from ("", said.closing)
    yield from ("", " ".join(said.cautions))
    if said.table.title:
        yield from ("", said.table.title, "", *_rows(said.table))
    yield from ("", words["attached"])
    if "stop" in words:
        yield f"{words['stop']} {words['stop_link']}"


def _rows(table: Table) -> Iterator[str]:
    """The rows of a table, a cell a line, with a blank line after each row."""
    for group in table.groups:
        if group.title:
            yield from (group.title, "")
        for row in group.rows:
            for head, cell in zip(table.heads, row.cells, strict=False):
                yield f"{head}: {', '.join(cell)}"
            yield ""
