"""The letters about an appointment: it stands, it has changed, it is called off."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum

from notices.domain.briefs import Item, Sender, Words
from notices.domain.cautions import cautions_for
from notices.domain.content import Row, RowGroup, Section, Table
from notices.domain.plain_letters import Text, reach
from notices.domain.wording import N_, assembly_lines, day_in, where_lines

NO_BREAK = "\u00a0"


class AppointmentLetter(StrEnum):
    """Kinds of letter about one visit that was promised."""

    MADE = "appointment"
    CHANGED = "appointment-changed"
    OFF = "appointment-off"


TITLES = {
    AppointmentLetter.MADE: N_("Appointment for a backflow test"),
    AppointmentLetter.CHANGED: N_("Changed appointment"),
    AppointmentLetter.OFF: N_("Appointment called off"),
}

_WEEKDAYS = (
    N_("Monday"),
    N_("Tuesday"),
    N_("Wednesday"),
    N_("Thursday"),
    N_("Friday"),
    N_("Saturday"),
    N_("Sunday"),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Appointment:
    """One promised visit in the clock of its place, and what is tested then.

    `was` is what the customer was told before; `tester` the name the customer may ask for.
    """

    place: str
    starts: datetime
    ends: datetime
    tester: str
    firm: str
    items: tuple[Item, ...]
    was: datetime | None = None
    tell_occupants: bool = False

    @property
    def minutes(self) -> int:
        """How long the visit takes, in whole minutes."""
        return int((self.ends - self.starts).total_seconds() // 60)


def text_of(kind: AppointmentLetter, one: Appointment, *, sender: Sender, words: Words) -> Text:
    """The whole letter in the language of the catalogue."""
    office = reach(sender, words=words)
    return Text(
        title=words.gettext(TITLES[kind]),
        headline=_headline(kind, one, words=words),
        paragraphs=_paragraphs(kind, one, words=words),
        table=_table(one.items, words=words),
        steps=_steps(kind, one, office=office, words=words),
        sections=(
            Section(
                heading=words.gettext("What happens next"),
                paragraphs=(_next(kind, words=words),),
            ),
        ),
        cautions=cautions_for(one.items, words=words),
    )


def at_clock(moment: datetime, *, words: Words) -> str:
    """Return a day and a time: `Tuesday, December 1, 2026, at 10:20 am`"""
    half = words.gettext("am") if moment.hour < 12 else words.gettext("pm")
    clock = f"{(moment.hour - 1) % 12 + 1}:{moment.minute:02d}{NO_BREAK}{half}"
    return words.gettext("%(weekday)s, %(day)s, at %(clock)s") % {
        "weekday": words.gettext(_WEEKDAYS[moment.weekday()]),
        "day": day_in(moment.date(), words=words),
        "clock": clock,
    }


def subject_of(kind: AppointmentLetter, one: Appointment, *, words: Words) -> str:
    """Return the one line a calendar shows."""
    if kind is AppointmentLetter.OFF:
        return words.gettext("Called off: backflow test at %(place)s") % {"place": one.place}
    return words.gettext("Backflow test at %(place)s") % {"place": one.place}


def _headline(kind: AppointmentLetter, one: Appointment, *, words: Words) -> tuple[str, ...]:
    when = {"when": at_clock(one.starts, words=words), "place": one.place}
    if kind is AppointmentLetter.OFF:
        return (
            words.gettext("The visit at %(place)s is called off.") % when,
            words.gettext("Nobody comes on %(when)s.")
            % {"when": at_clock(one.was or one.starts, words=words)},
        )
    if kind is AppointmentLetter.CHANGED:
        return (
            words.gettext("The visit at %(place)s has a new time.") % when,
            words.gettext("A tester comes on %(when)s.") % when,
        )
    return (words.gettext("A tester comes to %(place)s on %(when)s.") % when,)


def _paragraphs(kind: AppointmentLetter, one: Appointment, *, words: Words) -> tuple[str, ...]:
    if kind is AppointmentLetter.OFF:
        return (words.gettext("The test of what is listed was planned for that time."),)
    who = one.tester if not one.firm else f"{one.tester}, {one.firm}"
    told = [
        words.gettext("The visit takes about %(minutes)d minutes. The tester is %(who)s.")
        % {"minutes": one.minutes, "who": who},
        # A usual test needs the water off for 5 to 20 minutes (Caswell Beach NC).
        words.gettext("During the test the water is off for some minutes."),
    ]
    if kind is AppointmentLetter.CHANGED and one.was is not None:
        told.insert(
            0,
            words.gettext("Before, we told you %(was)s. That no longer holds.")
            % {"was": at_clock(one.was, words=words)},
        )
    return (" ".join(told),)


def _next(kind: AppointmentLetter, *, words: Words) -> str:
    if kind is AppointmentLetter.OFF:
        return words.gettext(
            "The test is still owed. We will propose another time, or you can ask for one."
        )
    return words.gettext(
        "The tester tests what is listed and tells you on the spot what was found. "
        "We record the result."
    )


def _steps(
    kind: AppointmentLetter, one: Appointment, *, office: str, words: Words
) -> tuple[str, ...]:
    call = {"office": office}
    if kind is AppointmentLetter.OFF:
        return (
            words.gettext("You need not wait for anybody at that time."),
            words.gettext("Call us for another time: %(office)s.") % call,
        )
    steps = [words.gettext("See that the tester can get to what is listed.")]
    if one.tell_occupants:
        steps.append(words.gettext("Tell those who use the water that it will be off for a while."))
    steps.append(words.gettext("If the time does not suit you, call us: %(office)s.") % call)
    return tuple(steps)


def _table(items: Sequence[Item], *, words: Words) -> Table:
    rows = tuple(
        Row(
            cells=(
                assembly_lines(item, words=words),
                where_lines(item, words=words),
                (day_in(item.due_on, words=words),),
            )
        )
        for item in items
    )
    heads = (words.gettext("Assembly"), words.gettext("Where"), words.gettext("Test due"))
    return Table(heads=heads, groups=(RowGroup(title="", rows=rows),))
