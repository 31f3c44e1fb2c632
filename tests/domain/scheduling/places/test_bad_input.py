"""A rulebook or a fact that cannot be meant is told by name, with the mend."""

from __future__ import annotations

from datetime import date

import pytest

from scheduling.domain.decisions import Decision, DecisionError, facts_of
from scheduling.domain.fact_checks import fact_faults
from scheduling.domain.facts import Fact, FactKind
from scheduling.domain.reasons import nothing_asked
from scheduling.domain.rulebook import Attributes, Topic
from scheduling.domain.rulebook_text import RulebookError, read_draft, read_rulebook
from scheduling.domain.rulebook_toml import write_rulebook
from scheduling.domain.sentences import rule_sentences
from tests.domain.scheduling.histories import text_of
from tests.domain.scheduling.places.atlas import path_of

TODAY = date(2026, 11, 25)


@pytest.mark.parametrize(
    ("every", "told"),
    [
        ("FREQ=YEARLY;BYDAY=MO", "'BYDAY=MO' is not allowed here"),
        ("FREQ=SECONDLY", "FREQ is SECONDLY"),
        ("FREQ=YEARLY;UNTIL=20300101", "'UNTIL=20300101' is not allowed"),
        ("FREQ=MONTHLY;INTERVAL=0", "INTERVAL=0 is out of range: 1 to 120, and not 0"),
        ("FREQ=MONTHLY;INTERVAL=121", "INTERVAL=121 is out of range"),
        ("", "every is missing"),
    ],
)
def test_a_recurrence_outside_the_whitelist_is_refused(every: str, told: str) -> None:
    text = text_of("plain-rolling").replace('every = "FREQ=YEARLY"', f'every = "{every}"')
    with pytest.raises(RulebookError, match="yearly") as error:
        read_rulebook(text)
    assert told in str(error.value)


def test_overlapping_rules_of_equal_priority_are_refused() -> None:
    text = text_of("plain-rolling").replace('every = "FREQ', 'priority = 2\nevery = "FREQ')
    with pytest.raises(RulebookError, match="half-yearly and yearly catch the same assembly"):
        read_rulebook(text)


def test_a_lower_priority_number_goes_first_wherever_it_stands() -> None:
    text = text_of("plain-rolling").replace(
        'every = "FREQ=YEARLY"', 'priority = 2\nevery = "FREQ=YEARLY"'
    )
    text = text.replace('every = "FREQ=MONTHLY', 'priority = 1\nevery = "FREQ=MONTHLY')
    assert [rule.id for rule in read_rulebook(text).cycles] == ["half-yearly", "yearly"]
    swapped = text.replace("priority = 1", "priority = 3")
    assert [rule.id for rule in read_draft(swapped).cycles] == ["yearly", "half-yearly"]


def test_a_priority_beside_none_is_refused() -> None:
    text = text_of("plain-rolling").replace(
        'every = "FREQ=YEARLY"', 'priority = 2\nevery = "FREQ=YEARLY"'
    )
    with pytest.raises(RulebookError, match="half-yearly has no priority beside others"):
        read_rulebook(text)


def test_a_rule_that_an_earlier_one_never_lets_speak_is_refused() -> None:
    yearly = text_of("plain-rolling").split("[[cycle]]")[2].split("[[event]]")[0]
    text = text_of("plain-rolling") + "\n[[cycle]]" + yearly.replace('"yearly"', '"again"')
    with pytest.raises(RulebookError, match="Cycles yearly and again catch the same assembly"):
        read_rulebook(text)


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ("offset_days = -15", "offset_days = -50", "'second-reminder' runs backwards"),
        ("is_skippable = true", "is_skippable = true\nis_required = true", "'reminder' is a cour"),
        (
            "is_skippable = true",
            "is_skippable = true\nlatest_left_days = -40",
            "marked as required by law",
        ),
        (
            "is_order = true",
            "is_order = true\nlatest_left_days = 0",
            "must have left 0 days from its trigger, before it is owed at 1",
        ),
        ("needs_release = true", "needs_release = false", "'shutoff-order' is an order"),
    ],
)
def test_a_ladder_that_cannot_be_meant_is_refused(old: str, new: str, told: str) -> None:
    with pytest.raises(RulebookError) as error:
        read_rulebook(text_of("plain-rolling").replace(old, new))
    assert told in str(error.value)


def test_an_assembly_without_a_rule_is_refused() -> None:
    text = text_of("plain-anniversary").replace(
        'regime = "anniversary"', 'regime = "anniversary"\nresidential = true'
    )
    with pytest.raises(RulebookError, match=r"have no cycle, the first a RP on high hazard"):
        read_rulebook(text)


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ('mark = "read"\n', "", 'write mark = "read" or "memory"'),
        ("transcribed = 2026-11-25\n", "", "says not when it was transcribed"),
        ("transcribed = 2026-11-25", "transcribed = 1899-12-31", "outside 1900 to 2200"),
        ("transcribed = 2026-11-25", "transcribed = 2201-01-01", "outside 1900 to 2200"),
        ("transcribed = 2026-11-25", 'transcribed = "soon"', "must be a day"),
        ("; an example: verify against the current text", "", 'must end "an example'),
        ('part = "grace"', 'part = "report"', r"the table [grace] is missing"),
        ('name = "grace on return"', 'name = "ladder"', "2 rules are called 'gap ladder'"),
        ('part = "ladder"', 'part = "letters"', "use one of cycle, event"),
    ],
)
def test_a_place_that_hides_what_it_is_is_refused(old: str, new: str, told: str) -> None:
    text = path_of("oregon").read_text(encoding="utf-8")
    assert old in text
    with pytest.raises(RulebookError) as error:
        read_rulebook(text.replace(old, new, 1))
    assert told in str(error.value)


def test_a_waiver_of_no_gap_is_refused() -> None:
    waiver = '\n[[waiver]]\ngap = "none"\nby = "A. Clerk"\non = 2026-12-01\nreason = "x"\n'
    with pytest.raises(RulebookError, match="Waiver of 'none' waives no gap"):
        read_rulebook(path_of("oregon").read_text(encoding="utf-8") + waiver)


@pytest.mark.parametrize(
    ("facts", "told"),
    [
        ([Fact(kind=FactKind.PASSED, on=date(1899, 12, 31))], "passed on 1899-12-31 lies outside"),
        ([Fact(kind=FactKind.PASSED, on=date(2201, 1, 1))], "correct the year"),
        ([Fact(kind=FactKind.FAILED, on=date(2026, 11, 26))], "lies after 2026-11-25"),
        (
            [
                Fact(kind=FactKind.INSTALLED, on=date(2025, 5, 2)),
                Fact(kind=FactKind.PASSED, on=date(2025, 5, 1)),
            ],
            "passed on 2025-05-01 lies before the installation on 2025-05-02",
        ),
        (
            [Fact(kind=FactKind.EXTENDED, on=date(2026, 3, 1), until=date(2026, 2, 1))],
            "extended on 2026-03-01 until 2026-02-01 ends before it begins",
        ),
        ([Fact(kind=FactKind.HELD, on=date(2026, 3, 1))], "held on 2026-03-01 has no end"),
        (
            [Fact(kind=FactKind.IDLED, on=date(2026, 3, 1), until=date(2026, 2, 28))],
            "is to be looked at again on 2026-02-28, before it begins",
        ),
        (
            [Fact(kind=FactKind.EXTENDED, on=date(2026, 3, 1), until=date(2201, 1, 1))],
            "until 2201-01-01 lies outside 1900 to 2200",
        ),
    ],
)
def test_a_fact_that_cannot_be_is_told(facts: list[Fact], told: str) -> None:
    (said,) = fact_faults(facts=facts, today=TODAY)
    assert told in said


def test_a_new_pass_is_held_against_the_installation_on_record() -> None:
    installed = [Fact(kind=FactKind.INSTALLED, on=date(2025, 5, 2))]
    passed = [Fact(kind=FactKind.PASSED, on=date(2025, 5, 1))]
    told = (
        "passed on 2025-05-01 lies before the installation on 2025-05-02: correct one of the two."
    )
    assert fact_faults(facts=passed, known=installed, today=TODAY) == [told]
    assert fact_faults(facts=installed, known=passed, today=TODAY) == [told]
    unrelated = [Fact(kind=FactKind.FAILED, on=date(2025, 6, 1))]
    assert fact_faults(facts=unrelated, known=[*installed, *passed], today=TODAY) == []


def test_facts_that_can_be_are_not_told_of() -> None:
    facts = [
        Fact(kind=FactKind.INSTALLED, on=date(2025, 5, 1)),
        Fact(kind=FactKind.PASSED, on=date(2025, 5, 1)),
        Fact(kind=FactKind.EXTENDED, on=date(2026, 3, 1), until=date(2026, 3, 2)),
        Fact(kind=FactKind.IDLED, on=TODAY),
    ]
    assert fact_faults(facts=facts, today=TODAY) == []


def provided(topic: str, more: str) -> str:
    """A teaching rulebook with one more rule in words."""
    said = f'id = "more"\ntopic = "{topic}"\nwords = "As agreed."\ncitation = "common practice"\n'
    return f"{text_of('plain-rolling')}\n[[provision]]\n{said}{more}\n"


@pytest.mark.parametrize(
    ("topic", "more", "told"),
    [
        ("second means", "", "Rule more names no second means"),
        ("promise", 'by = ["hand"]', "Rule more is about promise, which leaves by no means"),
        ("hearing", "days = 0", "Rule more gives no day to ask for a hearing"),
        ("a promise", "", "topic"),
        ("restoration", 'by = ["a fee"]', "Rule more brings water back by 'a fee'"),
        ("fee", 'by = ["hand"]', "Rule more is about fee, which leaves by no means"),
    ],
)
def test_a_provision_that_says_nothing_to_go_by_is_refused(
    topic: str, more: str, told: str
) -> None:
    with pytest.raises(RulebookError, match=told):
        read_rulebook(provided(topic, more))


def test_promises_second_means_and_hearings_are_read_by_topic() -> None:
    promise = read_rulebook(provided("promise", "days = 14\nis_working = true"))
    found = promise.provision(topic=Topic.PROMISE, attributes=Attributes())
    assert found is not None
    assert (found.days, found.is_working, found.citation) == (14, True, "common practice")
    assert promise.provision(topic=Topic.SECOND_MEANS, attributes=Attributes()) is None
    second = read_rulebook(provided("second means", 'by = ["hand", "posted at the door"]'))
    means = second.provision(topic=Topic.SECOND_MEANS, attributes=Attributes())
    assert means is not None
    assert means.by == ("hand", "posted at the door")
    assert read_rulebook(write_rulebook(second)) == second
    told = [each.text for each in rule_sentences(second)]
    assert any("By: hand or posted at the door." in said for said in told)


def test_what_brings_water_back_and_who_signs_besides_are_read_by_topic() -> None:
    # Kansas City MO 78-299: restored only with a booked or current test (read in part).
    back = read_rulebook(text_of("places/kansas-city-mo"))
    found = back.provision(topic=Topic.RESTORATION, attributes=Attributes())
    assert found is not None
    assert found.by == ("booked test", "passed test")
    assert back.provision(topic=Topic.FEE, attributes=Attributes()) is not None
    assert back.provision(topic=Topic.SECOND_PERSON, attributes=Attributes()) is None
    two = read_rulebook(provided("second person", ""))
    assert two.provision(topic=Topic.SECOND_PERSON, attributes=Attributes()) is not None
    assert read_rulebook(write_rulebook(two)) == two
    told = [each.text for each in rule_sentences(two)]
    assert any(said.startswith("Second person: As agreed.") for said in told)


STREET = Decision(
    kind=FactKind.HELD,
    on=date(2026, 6, 1),
    until=date(2026, 8, 31),
    reason="Elm Street is under construction",
    approved_by="A. Clerk",
    group="Elm Street",
    members=("S1", "S2"),
)


def test_a_decision_for_a_group_is_a_fact_for_each_member() -> None:
    made = facts_of(STREET)
    assert list(made) == ["S1", "S2"]
    assert {(f.kind, f.until, f.group, f.approved_by) for f in made.values()} == {
        (FactKind.HELD, date(2026, 8, 31), "Elm Street", "A. Clerk")
    }


def test_a_decision_with_many_faults_tells_them_all_and_makes_nothing() -> None:
    wrong = Decision(
        kind=FactKind.EXTENDED,
        on=date(2026, 6, 1),
        until=date(2026, 5, 1),
        reason=" ",
        approved_by="",
        members=(),
    )
    with pytest.raises(DecisionError) as error:
        facts_of(wrong)
    assert set(error.value.faults) == {"reason", "approved_by", "members", "until"}
    assert "before it begins" in error.value.faults["until"]


@pytest.mark.parametrize("kind", [FactKind.IDLED, FactKind.EXEMPTED])
def test_idling_and_exemption_need_a_review_day(kind: FactKind) -> None:
    decision = Decision(
        kind=kind, on=date(2026, 6, 1), reason="vacant", approved_by="A. Clerk", members=("S1",)
    )
    with pytest.raises(DecisionError, match="has no review day"):
        facts_of(decision)


def test_an_exempt_type_is_named_as_it_is_said() -> None:
    assert nothing_asked("AVB") == "nothing is asked of an AVB"
    assert nothing_asked("DC") == "nothing is asked of a DC"
    assert nothing_asked(None) == "nothing is asked here"
