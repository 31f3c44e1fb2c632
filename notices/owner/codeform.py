"""The words of the short code's form."""

from __future__ import annotations

from dataclasses import dataclass

from notices.domain.briefs import Words
from notices.owner.tries import Opened


@dataclass(frozen=True, slots=True, kw_only=True)
class CodeForm:
    """Everything the form says; `problem` is empty before a try."""

    language: str
    other_language: tuple[str, str]
    title: str
    lead: str
    code_label: str
    code_help: str
    zip_label: str
    zip_help: str
    button: str
    problem: str


def code_form(opened: Opened | None, *, words: Words, language: str) -> CodeForm:
    """Return the form; a wrong code and a wrong ZIP get the same answer."""
    return CodeForm(
        language=language,
        other_language=("en", "English") if language != "en" else ("es", "Espa\u00f1ol"),
        title=words.gettext("Open the page of your letter"),
        lead=words.gettext("Both are printed on the letter, at the top."),
        code_label=words.gettext("Short code"),
        code_help=words.gettext("Nine letters and figures, beside the address."),
        zip_label=words.gettext("ZIP of the mailing address"),
        zip_help=words.gettext("The five figures in the address the letter went to."),
        button=words.gettext("Open the page"),
        problem=_problem(opened, words=words),
    )


def _problem(opened: Opened | None, *, words: Words) -> str:
    if opened is Opened.NO:
        return words.gettext(
            "Code and ZIP do not belong together. Compare both with the letter and try again."
        )
    if opened is Opened.WAIT:
        return words.gettext("Ten tries were wrong. Try again in an hour, or call the office.")
    return ""
