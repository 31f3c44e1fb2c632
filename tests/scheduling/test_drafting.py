"""Drafts: changed rule by rule, refused whole, put in force by name, taken back before the day."""

from __future__ import annotations

import json
import tomllib
from collections.abc import Callable
from datetime import date, timedelta
from typing import Any

import pytest
from django.core.management import call_command
from django.utils import timezone

from registry.changes import Hand
from registry.domain.kinds import AssemblyType, Hazard
from registry.models import Change, Program
from scheduling.actions import drafting
from scheduling.actions.adoption import put_in_force
from scheduling.actions.drafting import Seen, start_draft
from scheduling.actions.enforcing import (
    EnforcingError,
    enforce_draft,
    replay_for_new_rules,
    take_back,
)
from scheduling.domain.draft_tables import DraftError, DraftTables
from scheduling.domain.facts import FactKind
from scheduling.domain.gaps import Part
from scheduling.domain.rulebook_text import read_rulebook
from scheduling.domain.toml_text import toml_text
from scheduling.models import Adoption, AssemblyState, ProgramClock, Rulebook
from scheduling.queries.rulebooks import rulebook_from
from scheduling.queries.shipped import UnknownRulebookError, shipped_names, shipped_text
from tests.scheduling.office import LOADED, made_assembly, made_program, recorded, replayed

pytestmark = pytest.mark.django_db

TODAY = date(2025, 11, 25)
HAND = Hand(by="Ida Marrow", at=LOADED)
GAP = '\n[[gap]]\nname = "hearing"\npart = "provision"\nwhat = "How a hearing is asked for"\n'


@pytest.fixture
def program() -> Program:
    return made_program()


def a_draft(program: Program, *, text: str = "", name: str = "next") -> Rulebook:
    told = text or shipped_text("plain-rolling")
    return start_draft(program=program, text=told, name=name, hand=HAND)


def seen(draft: Rulebook) -> Seen:
    return Seen(program=draft.program, draft_id=draft.pk, sha256=draft.sha256)  # type: ignore[arg-type]


def cells(draft: Rulebook, *, part: str, place: int) -> dict[str, Any]:
    return DraftTables.of(draft.text).cells(part=part, place=place)


@pytest.mark.parametrize("name", shipped_names())
def test_a_shipped_rulebook_written_and_read_again_is_equal(name: str) -> None:
    text = shipped_text(name)
    again = toml_text(tomllib.loads(text))
    assert read_rulebook(again) == read_rulebook(text)
    assert tomllib.loads(again) == tomllib.loads(text)


def test_words_that_toml_quotes_come_back_as_they_were() -> None:
    told = {"a b": 'say "no"\n\\ \x7f é\t', "list": [1, True, date(2026, 1, 2)], "t": {"x": {}}}
    assert tomllib.loads(toml_text(told)) == told


def test_a_draft_is_a_copy_with_an_edition_of_its_own(program: Program) -> None:
    draft = a_draft(program, name="plain-rolling")
    assert (draft.is_draft, draft.edition, draft.name) == (True, 2, "plain-rolling")
    assert rulebook_from(draft).cycles == read_rulebook(shipped_text("plain-rolling")).cycles
    with pytest.raises(DraftError, match="a draft called 'plain-rolling' already"):
        a_draft(program, name="plain-rolling")


def test_a_draft_is_not_put_in_force_by_its_name(program: Program) -> None:
    a_draft(program, name="only-a-draft")
    with pytest.raises(UnknownRulebookError):
        put_in_force(program=program, name="only-a-draft", effective_on=TODAY)


def test_a_changed_value_is_kept_with_who_and_what(program: Program) -> None:
    draft = a_draft(program)
    told = {**cells(draft, part="cure", place=0), "days": 5}
    after = drafting.save_rule(seen=seen(draft), part="cure", place=0, cells=told, hand=HAND)
    assert rulebook_from(after).cures[0].days == 5
    change = Change.objects.filter(what="rulebook draft").latest("pk")
    assert (change.by, change.before, change.after) == (
        "Ida Marrow",
        {"cure cure on high hazard": ["days = 7"]},
        {"cure cure on high hazard": ["days = 5"]},
    )


def without_yearly(draft: Rulebook) -> None:
    drafting.remove_rule(seen=seen(draft), part="cycle", place=1, hand=HAND)


def without_citation(draft: Rulebook) -> None:
    told = {k: v for k, v in cells(draft, part="cure", place=0).items() if k != "citation"}
    drafting.save_rule(seen=seen(draft), part="cure", place=0, cells=told, hand=HAND)


def with_interval_zero(draft: Rulebook) -> None:
    told = {**cells(draft, part="cycle", place=0), "every": "FREQ=MONTHLY;INTERVAL=0"}
    drafting.save_rule(seen=seen(draft), part="cycle", place=0, cells=told, hand=HAND)


def with_hourly(draft: Rulebook) -> None:
    told = {**cells(draft, part="cycle", place=0), "every": "FREQ=HOURLY"}
    drafting.save_rule(seen=seen(draft), part="cycle", place=0, cells=told, hand=HAND)


def with_the_ladder_upside_down(draft: Rulebook) -> None:
    drafting.move_rule(seen=seen(draft), part="rung", place=7, by=-1, hand=HAND)


def with_a_name_twice(draft: Rulebook) -> None:
    told = cells(draft, part="event", place=0)
    drafting.save_rule(seen=seen(draft), part="event", place=None, cells=told, hand=HAND)


def with_an_unknown_key(draft: Rulebook) -> None:
    told = {**cells(draft, part="cure", place=0), "dyas": 3}
    drafting.save_rule(seen=seen(draft), part="cure", place=0, cells=told, hand=HAND)


@pytest.mark.parametrize(
    ("nonsense", "reason"),
    [
        (without_yearly, "no cycle"),
        (without_citation, "citation is missing"),
        (with_interval_zero, "INTERVAL=0 is out of range"),
        (with_hourly, "FREQ is HOURLY"),
        (with_the_ladder_upside_down, "does not stand before it"),
        (with_a_name_twice, "give each its own id"),
        (with_an_unknown_key, "dyas is not known here"),
    ],
)
def test_nonsense_is_refused_with_rule_and_mend_and_nothing_is_stored(
    program: Program, nonsense: Callable[[Rulebook], None], reason: str
) -> None:
    draft = a_draft(program)
    changes = Change.objects.count()
    with pytest.raises(DraftError, match=reason):
        nonsense(draft)
    assert Rulebook.objects.get(pk=draft.pk).text == draft.text
    assert Change.objects.count() == changes


def test_two_people_do_not_write_over_each_other(program: Program) -> None:
    draft = a_draft(program)
    before = seen(draft)
    told = {**cells(draft, part="cure", place=0), "days": 5}
    drafting.save_rule(seen=before, part="cure", place=0, cells=told, hand=HAND)
    with pytest.raises(DraftError, match="Somebody changed the draft"):
        drafting.save_rule(seen=before, part="cure", place=0, cells=told, hand=HAND)


def test_rules_move_among_their_own(program: Program) -> None:
    draft = a_draft(program)
    after = drafting.move_rule(seen=seen(draft), part="event", place=0, by=1, hand=HAND)
    assert [one.id for one in rulebook_from(after).events] == [
        "after repair", "first test", "after relocation",
    ]  # fmt: skip
    with pytest.raises(DraftError, match="at the end already"):
        drafting.move_rule(seen=seen(after), part="event", place=0, by=-1, hand=HAND)


def test_a_gap_keeps_it_out_of_force_until_it_is_waived_by_name(program: Program) -> None:
    draft = a_draft(program, text=shipped_text("plain-rolling") + GAP)
    with pytest.raises(EnforcingError, match="neither filled nor waived: hearing"):
        enforce_draft(seen=seen(draft), effective_on=TODAY, today=TODAY, hand=HAND)
    assert Adoption.objects.filter(rulebook=draft).count() == 0
    with pytest.raises(DraftError, match="say why"):
        drafting.waive_gap(seen=seen(draft), gap="hearing", hand=HAND)
    hand = Hand(by="Ida Marrow", at=LOADED, reason="The city code gives its own")
    after = drafting.waive_gap(seen=seen(draft), gap="hearing", hand=hand)
    waiver = rulebook_from(after).waivers[0]
    assert (waiver.by, waiver.on, after.gaps) == ("Ida Marrow", TODAY, [])
    again = drafting.open_gap_again(seen=seen(after), gap="hearing", hand=HAND)
    assert again.gaps == ["hearing"]


def test_a_gap_is_filled_by_the_rule_that_stands_in_it(program: Program) -> None:
    draft = a_draft(program, text=shipped_text("plain-rolling") + GAP)
    with pytest.raises(DraftError, match="add the rule"):
        drafting.fill_gap(seen=seen(draft), gap="hearing", hand=HAND)
    told = {"id": "hearing", "topic": "hearing", "words": "Asked for in writing.", "citation": "c"}
    after = drafting.save_rule(
        seen=seen(draft), part="provision", place=None, cells=told, hand=HAND, fills="hearing"
    )
    assert (after.gaps, len(rulebook_from(after).provisions)) == ([], 1)


def test_a_gap_that_several_rules_fill_stays_open_until_the_last(program: Program) -> None:
    """Oro Valley says nothing of tests after installation, repair and relocation."""
    draft = a_draft(program, text=shipped_text("oro-valley-az"))
    gap = next(one for one in rulebook_from(draft).open_gaps if one.part is Part.EVENT)
    open_before = len(draft.gaps)
    for event in ("installed", "repaired", "relocated"):
        assert gap.name in draft.gaps
        told = {"id": event, "event": event, "days": 10, "citation": "c", "mark": "local"}
        draft = drafting.save_rule(
            seen=seen(draft), part="event", place=None, cells=told, hand=HAND, fills=gap.name
        )
    assert gap.name not in draft.gaps
    assert len(draft.gaps) == open_before - 1


def test_what_comes_down_goes_up_again_and_is_equal(program: Program) -> None:
    draft = a_draft(program)
    other = a_draft(program, text=draft.text, name="other")
    assert rulebook_from(other).cycles == rulebook_from(draft).cycles
    after = drafting.replace_text(seen=seen(other), text=draft.text, hand=HAND)
    assert after.name == "other"
    assert rulebook_from(after).ladder == rulebook_from(draft).ladder


def test_in_force_from_today_replays_at_once_and_honours_transition_days(
    program: Program,
) -> None:
    """Yearly due 2026-03-04 becomes 6 months: 2025-09-04, floored to 2025-11-25 + 30 days."""
    low = made_assembly(program, type_=AssemblyType.RP, hazard=Hazard.LOW)
    recorded(low, (FactKind.PASSED, date(2025, 3, 4)))
    replayed([low], as_of=TODAY)
    draft = a_draft(program)
    told = {**cells(draft, part="cycle", place=1), "every": "FREQ=MONTHLY;INTERVAL=6"}
    draft = drafting.save_rule(seen=seen(draft), part="cycle", place=1, cells=told, hand=HAND)
    done = enforce_draft(seen=seen(draft), effective_on=TODAY, today=TODAY, hand=HAND)
    assert done.is_replayed
    assert AssemblyState.objects.get(assembly=low).due_on == date(2025, 12, 25)
    assert done.adoption.by == "Ida Marrow"
    assert Change.objects.filter(what="rulebook in force").count() == 1


def test_an_edition_in_force_is_never_edited(program: Program) -> None:
    draft = a_draft(program)
    enforce_draft(seen=seen(draft), effective_on=TODAY, today=TODAY, hand=HAND)
    told = {**cells(draft, part="cure", place=0), "days": 5}
    with pytest.raises(DraftError, match="no draft any more"):
        drafting.save_rule(seen=seen(draft), part="cure", place=0, cells=told, hand=HAND)
    next_one = a_draft(program, text=draft.text, name="next")
    assert next_one.edition == draft.edition + 1


def test_before_its_day_it_changes_nothing_and_can_be_taken_back(program: Program) -> None:
    low = made_assembly(program, type_=AssemblyType.DC, hazard=Hazard.LOW)
    recorded(low, (FactKind.PASSED, date(2025, 3, 4)))
    replayed([low], as_of=TODAY)
    draft = a_draft(program, text=shipped_text("plain-season"))
    later = TODAY + timedelta(days=30)
    done = enforce_draft(seen=seen(draft), effective_on=later, today=TODAY, hand=HAND)
    assert replay_for_new_rules(program=program, as_of=TODAY) == 0
    assert AssemblyState.objects.get(assembly=low).due_on == date(2026, 3, 4)
    row = take_back(program=program, adoption_id=done.adoption.pk, today=TODAY, hand=HAND)
    assert row.is_draft
    assert not Adoption.objects.filter(rulebook=row).exists()
    assert replay_for_new_rules(program=program, as_of=later) == 0


def test_its_day_replays_once_and_then_it_is_not_taken_back(program: Program) -> None:
    """Last pass 2025-03-04 counts for the season due 2025-05-31; next 2026-05-31."""
    low = made_assembly(program, type_=AssemblyType.DC, hazard=Hazard.LOW)
    recorded(low, (FactKind.PASSED, date(2025, 3, 4)))
    replayed([low], as_of=TODAY)
    draft = a_draft(program, text=shipped_text("plain-season"))
    later = TODAY + timedelta(days=30)
    done = enforce_draft(seen=seen(draft), effective_on=later, today=TODAY, hand=HAND)
    assert replay_for_new_rules(program=program, as_of=later) == 1
    assert AssemblyState.objects.get(assembly=low).due_on == date(2026, 5, 31)
    assert replay_for_new_rules(program=program, as_of=later) == 0
    with pytest.raises(EnforcingError, match="is in force since 2025-12-25"):
        take_back(program=program, adoption_id=done.adoption.pk, today=later, hand=HAND)


@pytest.mark.parametrize(
    ("day", "reason"),
    [
        (TODAY - timedelta(days=1), "has gone by"),
        (date(2525, 1, 1), "correct the year"),
    ],
)
def test_a_day_gone_by_or_far_off_is_refused(program: Program, day: date, reason: str) -> None:
    draft = a_draft(program)
    with pytest.raises(EnforcingError, match=reason):
        enforce_draft(seen=seen(draft), effective_on=day, today=TODAY, hand=HAND)
    assert Rulebook.objects.get(pk=draft.pk).is_draft


def test_a_day_that_has_a_rulebook_is_refused_and_the_draft_stays(program: Program) -> None:
    first, second = a_draft(program, name="one"), a_draft(program, name="two")
    enforce_draft(seen=seen(first), effective_on=TODAY, today=TODAY, hand=HAND)
    with pytest.raises(EnforcingError, match="choose another day"):
        enforce_draft(seen=seen(second), effective_on=TODAY, today=TODAY, hand=HAND)
    assert Rulebook.objects.get(pk=second.pk).is_draft


def answer(capsys: pytest.CaptureFixture[str], *told: str) -> tuple[int, dict[str, Any]]:
    code = 0
    try:
        call_command("compare_rulebooks", *told, "--json")
    except SystemExit as stop:
        code = int(stop.code or 0)
    return code, json.loads(capsys.readouterr().out)


def test_the_command_answers_with_every_key_of_its_page(
    program: Program, capsys: pytest.CaptureFixture[str]
) -> None:
    low = made_assembly(program)
    recorded(low, (FactKind.PASSED, date(2025, 3, 4)))
    replayed([low], as_of=TODAY)
    code, told = answer(
        capsys, "--program", "tamarack", "--draft", "plain-season", "--as-of", "2025-11-25"
    )
    assert code == 0
    assert list(told) == [
        *("program", "in_force", "draft", "effective_on", "assemblies", "due_dates"),
        *("moved_by_days", "histogram", "overdue", "letters", "assumed"),
    ]
    assert told["moved_by_days"] == [{"days": 88, "due_dates": 1}]
    assert len(told["letters"]) == 24


@pytest.mark.parametrize(
    ("program_code", "draft", "as_of", "reason"),
    [
        ("nowhere", "plain-season", "2025-11-25", "No program"),
        ("tamarack", "no-such-book", "2025-11-25", "No rulebook is called"),
    ],
)
@pytest.mark.usefixtures("program")
def test_the_command_refuses_with_a_sentence(
    capsys: pytest.CaptureFixture[str], program_code: str, draft: str, as_of: str, reason: str
) -> None:
    told = ("--program", program_code, "--draft", draft, "--as-of", as_of)
    code, answered = answer(capsys, *told)
    assert code == 2
    assert reason in answered["error"]


def test_a_trial_is_compared_as_of_the_day_it_lives_on(
    program: Program, capsys: pytest.CaptureFixture[str]
) -> None:
    lives_on = timezone.now().date() + timedelta(days=400)
    Program.objects.filter(pk=program.pk).update(is_trial=True)
    ProgramClock.objects.update_or_create(program=program, defaults={"last_run_on": lives_on})
    low = made_assembly(program)
    recorded(low, (FactKind.PASSED, date(2025, 3, 4)))
    replayed([low], as_of=lives_on)
    code, told = answer(capsys, "--program", "tamarack", "--draft", "plain-season")
    assert (code, told["effective_on"]) == (0, lives_on.isoformat())
