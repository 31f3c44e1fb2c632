"""The letters around an order, from one brief: a notice after an emergency, water back."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from notices.domain.briefs import Item, Sender, Words
from notices.domain.cleaning import capital
from notices.domain.content import Row, RowGroup, Section, Table
from notices.domain.plain_letters import Text, reach
from notices.domain.shutoffs import Proof
from notices.domain.wording import N_, cited, day_in, sentence_list


class OrderLetter(StrEnum):
    """Kinds of letter around an order; no rung of a ladder sends them."""

    FIRE_LINE = "fire-line-report"
    EMERGENCY = "emergency-notice"
    WATER_BACK = "water-back"


TITLES = {
    OrderLetter.FIRE_LINE: N_("Report of a fire line"),
    OrderLetter.EMERGENCY: N_("Notice of an emergency shutoff"),
    OrderLetter.WATER_BACK: N_("Water is back"),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class OrderBrief:
    """What such a letter is composed from. `citation` is the rule it stands on, where one is."""

    place: str
    sender: Sender
    items: tuple[Item, ...] = ()
    services: tuple[str, ...] = ()
    order: str = ""
    """The number of the order letter; empty: an emergency order."""

    citation: str = ""
    off_on: date | None = None
    back_on: date | None = None
    proof: Proof | None = None
    proof_words: str = ""
    reason: str = ""
    sent: tuple[tuple[date, str], ...] = ()
    """Letters the owner got, for the fire department to know: the day, the title in English."""


def emergency(brief: OrderBrief, *, words: Words) -> Text:
    """Tell who is bound that water was shut off at once, why, and how to be heard."""
    assert brief.off_on is not None
    because = cited(
        words.gettext("A danger to the drinking water was found: %(reason)s.")
        % {"reason": brief.reason.rstrip(". ")},
        brief.citation,
    )
    off = words.gettext("On %(date)s this office ordered the water shut off at once.") % {
        "date": day_in(brief.off_on, words=words)
    }
    return Text(
        title=words.gettext(TITLES[OrderLetter.EMERGENCY]),
        headline=(
            words.gettext("Water at %(place)s was ordered off at once.") % {"place": brief.place},
            words.gettext("Call us today."),
        ),
        paragraphs=(sentence_list([off, because]),),
        table=_services(brief, words=words),
        steps=(
            words.gettext("Call us at once: %(reach)s.")
            % {"reach": reach(brief.sender, words=words)},
            words.gettext("Do not drink water from the taps there before we say that you may."),
            words.gettext("Have the danger removed by a person who may do so here."),
        ),
        sections=(
            Section(
                heading=words.gettext("How water comes back"),
                paragraphs=(
                    words.gettext(
                        "When the danger is gone we bring the water back. Tell us as soon as it "
                        "is; a person comes to look."
                    ),
                ),
            ),
            Section(
                heading=words.gettext("If you disagree"),
                paragraphs=(
                    # Memphis Light v. Craft (syllabus): who may correct errors, how to be heard.
                    words.gettext(
                        "You may ask to be heard at once, in person or in writing: %(reach)s. We "
                        "can correct an error in the record."
                    )
                    % {"reach": reach(brief.sender, words=words)},
                ),
            ),
        ),
        cautions=(general(words),),
    )


_BACK = {
    Proof.PASSED: N_("A passing test is on record."),
    Proof.BOOKED: N_("A test is booked: %(words)s."),
    Proof.HAZARD_GONE: N_("The danger is gone: %(words)s."),
    Proof.DECISION: N_("This office decided so: %(words)s."),
}


def water_back(brief: OrderBrief, *, words: Words) -> Text:
    """Tell who is bound that water is on again, since when, and why."""
    assert brief.off_on is not None
    assert brief.back_on is not None
    assert brief.proof is not None
    dates = {
        "off": day_in(brief.off_on, words=words),
        "back": day_in(brief.back_on, words=words),
    }
    why = words.gettext(_BACK[brief.proof])
    if "%(words)s" in why:
        why %= {"words": brief.proof_words.rstrip(". ")}
    steps = [
        # Air in the pipes: open slowly, let it run (common practice).
        words.gettext("Open the taps slowly and let the water run until it is clear."),
        words.gettext("Look at water heaters, boilers and machines before they start again."),
        words.gettext("Is water missing somewhere? Call us: %(reach)s.")
        % {"reach": reach(brief.sender, words=words)},
    ]
    if brief.proof is Proof.BOOKED:
        steps.insert(0, words.gettext("Keep the booked test. The test is still owed."))
    return Text(
        title=words.gettext(TITLES[OrderLetter.WATER_BACK]),
        headline=(
            words.gettext("Water at %(place)s is on again.") % {"place": brief.place},
            words.gettext("It was off from %(off)s to %(back)s.") % dates,
        ),
        paragraphs=(cited(why, brief.citation),),
        table=_services(brief, words=words),
        steps=tuple(steps),
        sections=(
            Section(
                heading=words.gettext("If you disagree"),
                paragraphs=(
                    words.gettext(
                        "Is a date or a name wrong? We can correct our record: %(reach)s."
                    )
                    % {"reach": reach(brief.sender, words=words)},
                ),
            ),
        ),
        cautions=(
            # Trapped air and hot water (common practice).
            words.gettext("Air in the pipes can spit hot water. Open hot taps last, and slowly."),
            general(words),
        ),
    )


def general(words: Words) -> str:
    """Say who decides how the work is done."""
    return words.gettext(
        "The maker\u2019s manual, local code and licensed practice decide how the work is done."
    )


def _services(brief: OrderBrief, *, words: Words) -> Table:
    off = day_in(brief.off_on, words=words) if brief.off_on else ""
    back = day_in(brief.back_on, words=words) if brief.back_on else words.gettext("not yet")
    order = brief.order or words.gettext("emergency order")
    rows = tuple(
        Row(cells=((capital(words.gettext(service)),), (brief.place,), (order,), (off,), (back,)))
        for service in brief.services
    )
    heads = (
        words.gettext("Service"),
        words.gettext("Where"),
        words.gettext("Order"),
        words.gettext("Off"),
        words.gettext("On again"),
    )
    return Table(heads=heads, groups=(RowGroup(title="", rows=rows),))
