"""The ladder in words: when a rung is owed, how it goes, and whether it may be skipped."""

from __future__ import annotations

from scheduling.domain.matching import Match
from scheduling.domain.rungs import Recipient, Rung, Trigger
from scheduling.domain.sentence_words import Words, days, listed, subject, value

_POINTS = {
    Trigger.DUE: "the day due",
    Trigger.FAILED: "a failed test",
    Trigger.PROMPTED: "the day a test is asked for",
    Trigger.OPENED: "it opens",
}


_LANGUAGES = {"en": "English", "es": "Spanish"}
_NAMED = ("order", "reminder", "notice", "letter", "card", "call")


def channel_words(channel: str) -> str:
    """`certified mail` from `certified`."""
    return "certified mail" if channel == "certified" else channel


def rung_words(rung: Rung) -> Words:
    """`45 days before the day due, the reminder is owed. If it is late it is skipped.`"""
    words: Words = [*_for_whom(rung), *_when(rung), ", the ", value(rung.key.replace("-", " "))]
    words.append("" if rung.key.endswith(_NAMED) else " notice")
    words.append(" is prepared" if rung.is_order else " is owed")
    words += _how(rung)
    words.append(". Only a person signs it." if rung.is_order else ".")
    return words + _after(rung)


def _for_whom(rung: Rung) -> Words:
    words: Words = []
    if rung.kinds:
        words += ["For ", *listed(rung.kinds), ": "]
    if rung.match != Match():
        found = subject(rung.match, rest="")
        first = found[0]
        if isinstance(first, str):
            found = [first[:1].lower() + first[1:], *found[1:]]
        words += ["For " if not words else "for ", *found, ": "]
    return words


def _when(rung: Rung) -> Words:
    if rung.without_day:
        return ["On a day that is ", value("not transcribed")]
    if rung.after:
        gap = days(rung.gap_days, is_working=rung.is_working)
        after = f"after the {rung.after.replace('-', ' ')} "
        words: Words = ["At least ", gap, f" {after}"] if rung.gap_days else [after.capitalize()]
        return [*words, *_received(rung)]
    point, number = _POINTS[rung.trigger], abs(rung.offset_days)
    if not number:
        return [f"On the day of {point}" if rung.trigger is Trigger.FAILED else _on(point)]
    if rung.trigger is Trigger.DUE and rung.offset_days == 1 and not rung.is_working:
        return [value("The day after"), " the day due"]
    side = "before" if rung.offset_days < 0 else "after"
    return [days(number, is_working=rung.is_working), f" {side} {point}"]


def _received(rung: Rung) -> Words:
    if rung.from_delivery:
        if not rung.presumed_days:
            return ["was delivered (unknown: it waits)"]
        return ["was delivered (unknown: presumed ", days(rung.presumed_days), " after it left)"]
    if not rung.presumed_days:
        return ["left"]
    return ["was received (presumed ", days(rung.presumed_days), " after it left)"]


def _on(point: str) -> str:
    return "When it opens" if point == "it opens" else f"On {point}"


def _how(rung: Rung) -> Words:
    words: Words = []
    ways = [channel_words(one) for one in (rung.channel, *rung.also_by)]
    if ways != ["mail"]:
        words += [" by ", *listed(ways, last="and")]
    if rung.recipients:
        names = [_recipient(one) for one in rung.recipients]
        words += [" to ", *listed(names, last="and")]
    if rung.languages:
        words += [" in ", *listed([_LANGUAGES.get(one, one) for one in rung.languages], last="and")]
    return words


def _recipient(recipient: Recipient) -> str:
    return f"the {recipient.value}"


def _after(rung: Rung) -> Words:
    words: Words = [" It never leaves by itself."] if rung.without_day else []
    if rung.repeat is not None:
        words += [" It comes again every ", value(rung.repeat.words)]
        words += [f", {rung.repeat.count} times in all" if rung.repeat.count else ""]
        words.append(", until a later rung is owed.")
    if rung.needs_release and not rung.is_order:
        words.append(" A person releases it.")
    if rung.latest_left_days is not None:
        number = rung.latest_left_days
        side = "before" if number < 0 else "after"
        point = _POINTS[rung.trigger]
        words += [" It leaves at the latest ", days(abs(number)), f" {side} {point}."]
    if rung.is_required:
        words += [" ", value("The law asks for it"), "; it is never skipped."]
    elif rung.is_skippable:
        words += [" If it is late it is ", value("skipped"), "."]
    return words
