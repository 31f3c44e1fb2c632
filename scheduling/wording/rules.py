"""A rulebook as numbered sentences; each value stands apart, so that a page can set it in bold."""

from __future__ import annotations

from dataclasses import dataclass

from scheduling.domain.ladders import Ladder, Rung, Trigger
from scheduling.domain.rulebook import CycleRule, DaysRule, Match, Regime, Rulebook

Part = tuple[str, bool]
"""Words, and whether they are a value."""


@dataclass(frozen=True, kw_only=True)
class Sentence:
    """One rule: its words in parts, its source, its mark, and for a rung its step."""

    parts: tuple[Part, ...]
    citation: str
    mark: str
    step: int = 0


def _sentence(*parts: str | Part, citation: str, step: int = 0) -> Sentence:
    told = tuple((part, False) if isinstance(part, str) else part for part in parts)
    return Sentence(parts=told, citation=citation, mark=mark_of(citation), step=step)


def mark_of(citation: str) -> str:
    """How far a citation may be trusted, where it says so itself."""
    text = citation.lower()
    if "from memory" in text or "[memory]" in text:
        return "from memory"
    if "practice" in text:
        return "common practice"
    return "read" if "[read]" in text else ""


def _value(words: str) -> Part:
    return words, True


def _days(number: int) -> Part:
    return _value("1 day" if number == 1 else f"{number} days")


def _subject(match: Match, *, rest: str) -> list[str | Part]:
    """`An RP or RPDA that protects against a high hazard`, or `Every other assembly`."""
    if match == Match():
        return [rest]
    parts: list[str | Part] = []
    if match.types:
        parts += ["An ", *_listed(sorted(one.value for one in match.types))]
    else:
        parts.append("An assembly")
    if match.hazards:
        hazards = sorted(one.value for one in match.hazards)
        parts += [" that protects against a ", *_listed(hazards), " hazard"]
    if match.services:
        parts += [" on ", *_listed(sorted(one.value or "an unknown" for one in match.services))]
        parts.append(" service")
    if match.protects:
        parts += [" for ", *_listed(sorted(one.value for one in match.protects))]
    return parts


def _listed(names: list[str]) -> list[str | Part]:
    parts: list[str | Part] = []
    for place, name in enumerate(names):
        if place:
            parts.append(" or " if place == len(names) - 1 else ", ")
        parts.append(_value(name))
    return parts


def rule_sentences(book: Rulebook) -> list[Sentence]:
    """When a test is owed, in the order in which the rules are asked."""
    found = [
        _sentence(*_subject(rule.match, rest="No assembly"), " has no field test.",
                  citation=rule.citation)
        for rule in book.exempt
    ]  # fmt: skip
    found += [_cycle(rule, is_first=place == 0) for place, rule in enumerate(book.cycles)]
    found += [
        _sentence(
            *_subject(rule.match, rest="An assembly"), " that was ", _value(rule.event.value),
            " is tested within ", _days(rule.days), ".", citation=rule.citation,
        )
        for rule in book.events
    ]  # fmt: skip
    found += [_cure(rule) for rule in book.cures]
    found += [
        _sentence("Back in use after an idle time, it has ", _days(book.grace.days),
                  " of grace.", citation=book.grace.citation),
        _sentence("Where no date is known, the test is due ", _days(book.no_date.days),
                  " after the first fact, or after it was recorded.",
                  citation=book.no_date.citation),
        _sentence("A changed rule makes nobody due sooner than ", _days(book.transition.days),
                  " after it takes effect.", citation=book.transition.citation),
        _sentence("A test is judged by the method ", _value(book.method), ".",
                  citation=book.method_citation),
        _sentence("A gauge counts for ", _value(f"{book.credentials.gauge_months} months"),
                  " from its calibration.", citation=book.credentials.citation),
    ]  # fmt: skip
    return found


def _cycle(rule: CycleRule, *, is_first: bool) -> Sentence:
    rest = "Every assembly" if is_first else "Every other assembly"
    subject = _subject(rule.match, rest=rest)
    every = _value(rule.cycle.words)
    opens: list[str | Part] = [" It opens ", _days(rule.opens_days), " before."]
    if rule.regime is Regime.ROLLING:
        how: list[str | Part] = [" is tested within ", every, " of its last passing test.", *opens]
    elif rule.regime is Regime.ANNIVERSARY:
        how = [
            " is tested every ", every, ", on the anniversary of its installation.", *opens,
            " A pass from ", _days(rule.early_days), " before the day on keeps the anniversary.",
        ]  # fmt: skip
    else:
        how = [" is tested every season, by ", _value(_season_day(rule)), "."]
        if rule.season_opens:
            how += [" It opens ", _value(month_day(str(rule.season_opens))), "."]
        if rule.credit_from:
            how += [" A pass counts from ", _value(month_day(str(rule.credit_from))), " on."]
    return _sentence(*subject, *how, citation=rule.citation)


_MONTHS = (
    *("January", "February", "March", "April", "May", "June", "July", "August"),
    *("September", "October", "November", "December"),
)


def month_day(text: str) -> str:
    """`May 31` from `05-31`."""
    month, _, day = text.partition("-")
    return f"{_MONTHS[int(month) - 1]} {int(day)}"


def _season_day(rule: CycleRule) -> str:
    months, days = rule.cycle.bymonth, rule.cycle.bymonthday
    if len(months) == 1 and len(days) == 1:
        return f"{_MONTHS[months[0] - 1]} {days[0]}"
    return rule.cycle.words


def _cure(rule: DaysRule) -> Sentence:
    subject = _subject(rule.match, rest="Any other assembly")
    return _sentence(
        *subject, " that failed is repaired and passes within ", _days(rule.days), ".",
        citation=rule.citation,
    )  # fmt: skip


def ladder_sentences(ladder: Ladder) -> list[Sentence]:
    """What happens when it is not done, rung by rung."""
    step = 0
    found = []
    for rung in ladder.rungs:
        is_numbered = rung.trigger is Trigger.DUE
        step += 1 if is_numbered else 0
        found.append(_rung(rung, step=step if is_numbered else 0))
    return found


def _rung(rung: Rung, *, step: int) -> Sentence:
    name = _value(rung.key.replace("-", " "))
    by = f", by {channel_words(rung.channel)}" if rung.channel != "mail" else ""
    parts: list[str | Part] = [*_when(rung), ", the ", name, " is "]
    parts.append("prepared" if rung.is_order else f"owed{by}")
    parts.append(". Only a person signs it." if rung.is_order else ".")
    if rung.needs_release and not rung.is_order:
        parts.append(" A person releases it.")
    parts.append(" If it is late it is skipped." if rung.is_skippable else "")
    return _sentence(*parts, citation=rung.citation, step=step)


def channel_words(channel: str) -> str:
    """`certified mail` from `certified`."""
    return "certified mail" if channel == "certified" else channel


def _when(rung: Rung) -> list[str | Part]:
    if rung.after:
        return [
            "At least ",
            _days(rung.gap_days),
            f" after the {rung.after.replace('-', ' ')} left",
        ]
    days = abs(rung.offset_days)
    point = {
        Trigger.DUE: "the day due",
        Trigger.FAILED: "a failed test",
        Trigger.PROMPTED: "the day a test is asked for",
        Trigger.OPENED: "it opens",
    }[rung.trigger]
    if not days:
        return ["On the day of a failed test" if rung.trigger is Trigger.FAILED else f"On {point}"]
    if rung.trigger is Trigger.DUE and rung.offset_days == 1:
        return ["The day after due"]
    return [_days(days), f" {'before' if rung.offset_days < 0 else 'after'} {point}"]
