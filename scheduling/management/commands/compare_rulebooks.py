"""compare_rulebooks: what a draft, or a place's rulebook, would change; nothing is written."""

from typing import Any

from django.core.management.base import CommandParser

from registry.console import (
    Answer,
    OfficeCommand,
    Refused,
    iso_date,
    progress_on_stderr,
    tally_lines,
)
from registry.models import Program
from scheduling.domain.comparing import Comparison
from scheduling.domain.forecast import ASSUMED
from scheduling.domain.rulebook import Rulebook
from scheduling.domain.rulebook_text import RulebookError
from scheduling.queries.comparing import CannotCompareError, ask, go_on
from scheduling.queries.editions import book_called
from scheduling.queries.rulebooks import NoRulebookError, rulebook_in_force
from scheduling.queries.shipped import UnknownRulebookError
from scheduling.views.desk import day_at


class Command(OfficeCommand):
    help = "Compare a draft, or a rulebook that ships, with the one in force. Writes nothing."

    def arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--program", required=True, help="the program's code")
        parser.add_argument("--draft", required=True, help="a draft's name, or one that ships")
        parser.add_argument(
            "--as-of", type=iso_date, help="the day it would take effect; today unless named"
        )

    def perform(self, options: dict[str, Any]) -> Answer:
        program = Program.objects.filter(code=options["program"]).first()
        if program is None:
            raise Refused(f"No program has the code {options['program']!r}.")
        as_of = options["as_of"] or day_at(program)
        try:
            draft = book_called(program=program, name=options["draft"])
            question, comparison = ask(program=program, draft=draft, effective_on=as_of)
            with progress_on_stderr("Comparing") as advance:
                for done in go_on(question, comparison):
                    advance(done, comparison.assemblies)
            in_force = rulebook_in_force(program=program, on=as_of)
        except (UnknownRulebookError, CannotCompareError, NoRulebookError, RulebookError) as error:
            raise Refused(str(error)) from error
        return Answer(
            payload=payload(program=program, in_force=in_force, draft=draft, comparison=comparison),
            lines=lines(in_force=in_force, draft=draft, comparison=comparison),
        )


def payload(
    *, program: Program, in_force: Rulebook, draft: Rulebook, comparison: Comparison
) -> dict[str, Any]:
    """Return what `--json` prints: docs/rulebooks-compare.md has every key."""
    return {
        "program": program.code,
        "in_force": {"name": in_force.name, "edition": in_force.edition},
        "draft": {"name": draft.name, "edition": draft.edition, "gaps": list(draft.gaps)},
        **comparison.to_json(),
    }


def lines(*, in_force: Rulebook, draft: Rulebook, comparison: Comparison) -> list[str]:
    """Return the comparison for people."""
    found = comparison
    said = [
        f"{draft.label} against {in_force.label}, as if it took effect on {found.effective_on}:",
        *tally_lines(
            [
                ("assemblies", found.assemblies),
                ("due dates that move", found.moved),
                ("  earlier", found.earlier),
                ("  later", found.later),
                ("due dates that stay", found.same),
                ("owed only then", found.begins),
                ("owed no more", found.ends),
                ("assemblies of which the draft says nothing yet", found.in_gap),
                ("overdue at once", found.overdue_at_once),
                ("overdue now, then not", found.overdue_no_more),
                ("letters in 24 months, in force", sum(found.letters_now)),
                ("letters in 24 months, then", sum(found.letters_then)),
            ]
        ),
        "",
        *tally_lines((bucket.words, bucket.dates) for bucket in found.buckets if bucket.dates),
        "",
        ASSUMED,
    ]
    if draft.gaps:
        said.append(f"Not transcribed in {draft.name}: {'; '.join(draft.gaps)}.")
    return said
