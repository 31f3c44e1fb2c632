"""The words of each kind of rule, its values set apart."""

from __future__ import annotations

from scheduling.domain.facts import FactKind
from scheduling.domain.rulebook import Rulebook
from scheduling.domain.rules import (
    TEST,
    CountsAs,
    CycleRule,
    EventRule,
    HindranceRule,
    ProtectionRule,
    Provision,
    RatioRule,
    Regime,
    RepeatRule,
    ReportRule,
)
from scheduling.domain.sentence_words import (
    Words,
    days,
    every,
    listed,
    month_day,
    months,
    step,
    subject,
    value,
)
from scheduling.domain.sources import Source

_AFTER = {
    FactKind.INSTALLED: "that was newly installed",
    FactKind.REPAIRED: "that was repaired",
    FactKind.RELOCATED: "that was relocated",
    FactKind.INCIDENT: "that saw a backflow incident",
    FactKind.RESUMED: "that is back in use",
    FactKind.REOCCUPIED: "whose premises is occupied again",
    FactKind.DEWINTERISED: "that was put back after the winter",
    FactKind.UNPROTECTED: "whose service was found unprotected",
}


def owed_words(rule: CycleRule, *, is_first: bool, noun: str = "assembly") -> Words:
    """`An RP … is tested within 6 months of its last passing test. It opens 60 days before.`"""
    who = subject(
        rule.match, rest=f"Every {noun}" if is_first else f"Every other {noun}", noun=noun
    )
    if rule.regime is Regime.ROLLING:
        how = _rolling(rule)
    elif rule.regime is Regime.ANNIVERSARY:
        how = _anniversary(rule)
    else:
        how = _season(rule)
    if rule.cap is not None:
        how += [" Never later than ", value(step(rule.cap)), " after the last pass."]
    if rule.month_end:
        how += [" It is due on ", value("the last day"), " of that month."]
    return [*who, *how]


def _is_done(kind: str) -> str:
    return " is tested" if kind == TEST else f" owes {_a(kind)}"


def _a(kind: str) -> str:
    return f"{'an' if kind[:1] in 'aeiou' else 'a'} {kind}"


def _rolling(rule: CycleRule) -> Words:
    last = "its last passing test" if rule.kind == TEST else "the last"
    return [
        f"{_is_done(rule.kind)} within ", value(step(rule.cycle)), f" of {last}.",
        *_opening(rule),
    ]  # fmt: skip


def _opening(rule: CycleRule) -> Words:
    return [" It opens ", days(rule.opens_days), " before."]


def _anniversary(rule: CycleRule) -> Words:
    words: Words = [
        f"{_is_done(rule.kind)} every ", value(every(rule.cycle)),
        ", on the anniversary of its installation",
    ]  # fmt: skip
    if rule.late_days:
        words += [", at the latest ", days(rule.late_days), " after it"]
    words += [".", *_opening(rule), " A pass from ", days(rule.early_days)]
    return [*words, " before the day on keeps the anniversary."]


def _season(rule: CycleRule) -> Words:
    words: Words = [f"{_is_done(rule.kind)} every season, by ", value(step(rule.cycle)), "."]
    if rule.season_opens:
        words += [" It opens ", value(month_day(rule.season_opens)), "."]
    if rule.credit_from:
        words += [" A pass counts for it from ", value(month_day(rule.credit_from)), " on."]
    return words


def event_words(rule: EventRule) -> Words:
    """`An assembly that was repaired is tested within 10 days.`"""
    after = f" {_AFTER.get(rule.event, f'that was {rule.event.value}')}"
    words: Words = [*subject(rule.match, rest="An assembly"), after]
    if rule.idle_months:
        words += [" after more than ", months(rule.idle_months), " out of use"]
    within = days(rule.days, is_working=rule.is_working)
    if not rule.days:
        return [*words, f"{_is_done(rule.kind)} ", value("at once"), "."]
    return [*words, f"{_is_done(rule.kind)} within ", within, "."]


def repeat_words(rule: RepeatRule) -> Words:
    """`An assembly that failed in 2 of its last 3 rounds is tested every 6 months.`"""
    return [
        *subject(rule.match, rest="An assembly"), " that failed in ", value(rule.failures),
        " of its last ", value(rule.of_last), f" rounds{_is_done(rule.kind)} again within ",
        value(step(rule.every)), " of a pass, until fewer fail.",
    ]  # fmt: skip


def hindrance_words(rule: HindranceRule) -> Words:
    """`A visit on which … counts as failed.`"""
    names = sorted(one.value for one in rule.hindrances)
    why: Words = [" because of ", *listed(names)] if names else [""]
    counts = "a failed test" if rule.counts_as is CountsAs.FAILED else "no test at all"
    who = subject(rule.match, rest="An assembly")
    return [*who, " that could not be tested", *why, " counts as ", value(counts), "."]


def report_words(rule: ReportRule) -> Words:
    """`The report of a failed test is in within 2 working days.`"""
    names = {FactKind.PASSED: "passed", FactKind.FAILED: "failed"}
    about = sorted(names.get(one, one.value) for one in rule.about)
    what: Words = ["The report of a test that ", *listed(about)] if about else ["Every report"]
    whom: Words = [] if rule.match == type(rule.match)() else [" of ", *_lower(rule)]
    return [*what, *whom, " is in within ", days(rule.days, is_working=rule.is_working), "."]


def _lower(rule: ReportRule) -> Words:
    words = subject(rule.match, rest="")
    first = words[0]
    return [first[:1].lower() + first[1:], *words[1:]] if isinstance(first, str) else words


def protection_words(rule: ProtectionRule) -> Words:
    """`A service … is protected by an RP or an AG.`"""
    names = sorted(one.value for one in rule.allowed)
    who = subject(rule.match, rest="Every service connection", noun="service connection")
    return [*who, " is protected by ", *listed(names), "; with none of them it lacks protection."]


def ratio_words(rule: RatioRule) -> Words:
    """`At least 90 % of the assemblies are tested in a calendar year.`"""
    share = f"{(rule.share * 100).normalize():f} %"
    return [
        "At least ", value(share), " of the assemblies are tested in a calendar year.",
        " The rest is pursued for ", days(rule.chase_days), " after it.",
    ]  # fmt: skip


def provision_words(rule: Provision) -> Words:
    """The provision's own words, with its days where it names some."""
    words: Words = [value(rule.topic.value.capitalize()), f": {rule.words.strip()}"]
    if not rule.words.rstrip().endswith("."):
        words.append(".")
    if rule.days is not None:
        words += [" Days: ", days(rule.days, is_working=rule.is_working), "."]
    return [*words, " By: ", *listed(rule.by), "."] if rule.by else words


def credential_sentences(book: Rulebook) -> list[tuple[str, Words, str, Source]]:
    """Return what a test is judged by, and how long a gauge and a certificate hold."""
    found: list[tuple[str, Words, str, Source]] = []
    if book.method:
        words: Words = ["A test is judged by the method ", value(book.method), "."]
        found.append(("method", words, book.method_citation, book.method_source))
    credentials = book.credentials
    if credentials.is_given:
        words = ["A gauge counts for ", months(credentials.gauge_months), " from its calibration."]
        found.append(("credentials", words, credentials.citation, credentials.source))
    if credentials.tester is not None:
        term = credentials.tester
        words = ["A tester’s certificate holds for ", months(term.months), "."]
        found.append(("credentials", words, term.citation, term.source))
    return found
