"""The form of the owner's page: what the recipient may say, in words of the page's language."""

from __future__ import annotations

from dataclasses import dataclass
from secrets import token_hex

from notices.actions.owner_says import Said, Taken
from notices.domain.briefs import Words
from notices.domain.owner_says import CHOICES, LONGEST, OwnerSays


@dataclass(frozen=True, slots=True, kw_only=True)
class SayForm:
    """Every word of the form, and what became of what was sent before."""

    heading: str
    lead: str
    kind_label: str
    choices: tuple[tuple[str, str], ...]
    words_label: str
    reach_label: str
    reach_help: str
    button: str
    key: str
    longest: int
    note: str = ""
    is_refused: bool = False


def say_form(taken: str, *, words: Words) -> SayForm:
    """Return the form; `taken` is what became of a message just sent, or anything else."""
    return SayForm(
        heading=words.gettext("Tell the office"),
        lead=words.gettext("A person reads it and answers. It changes nothing by itself."),
        kind_label=words.gettext("What is it about?"),
        choices=tuple((kind.value, words.gettext(CHOICES[kind])) for kind in OwnerSays),
        words_label=words.gettext("In your words"),
        reach_label=words.gettext("How do we reach you?"),
        reach_help=words.gettext("Telephone or e-mail. You may leave it out."),
        button=words.gettext("Send"),
        key=token_hex(16),
        longest=LONGEST,
        note=_note(taken, words=words),
        is_refused=taken in {Taken.WAIT, Taken.EMPTY},
    )


def said_in(data: dict[str, str], *, language: str) -> Said:
    """Return what a form sent, as it came; an unknown kind is something else."""
    kind = data.get("kind", "")
    return Said(
        kind=OwnerSays(kind) if kind in set(OwnerSays) else OwnerSays.OTHER,
        words=data.get("words", ""),
        reach=data.get("reach", ""),
        language=language,
        form_key=data.get("key", "") or token_hex(16),
    )


def _note(taken: str, *, words: Words) -> str:
    if taken == Taken.YES:
        return words.gettext("We have your words. A person of the office reads them.")
    if taken == Taken.WAIT:
        return words.gettext(
            "We have several messages from this page today. Please call the office instead."
        )
    if taken == Taken.EMPTY:
        return words.gettext("Please write in your words what it is about.")
    return ""
