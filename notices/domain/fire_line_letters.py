"""The letter that reports fire lines to the fire department: which ones, where, and since when."""

from __future__ import annotations

from notices.domain.briefs import Item, Words
from notices.domain.cleaning import clean
from notices.domain.content import Row, RowGroup, Section, Table
from notices.domain.letter_tables import LONGEST_WITHIN
from notices.domain.order_letters import TITLES, OrderBrief, OrderLetter, general
from notices.domain.plain_letters import Text, reach
from notices.domain.wording import assembly_lines, cited, day_in, sentence_list, where_lines


def fire_line(brief: OrderBrief, *, words: Words) -> Text:
    """Tell the fire department of a fire line whose test is owed; nothing is done to the line."""
    return Text(
        title=words.gettext(TITLES[OrderLetter.FIRE_LINE]),
        headline=_headline(brief, words=words),
        paragraphs=_of_the_line(brief, words=words),
        table=_assemblies(brief, words=words),
        steps=(
            words.gettext("You decide what you ask of the owner."),
            words.gettext("Tell us what you know: work on the line, a building that is empty."),
            words.gettext("Call us with any question: %(reach)s.")
            % {"reach": reach(brief.sender, words=words)},
        ),
        sections=(
            Section(
                heading=words.gettext("What happens next"),
                paragraphs=(words.gettext("We go on asking the owner for the test."),),
            ),
        ),
        cautions=(
            # Who is told before and after; valves fully open (common practice).
            words.gettext(
                "Before and after any work on a fire line the fire department, the alarm company "
                "and the insurer are told. Valves are left fully open."
            ),
            general(words),
        ),
    )


def _places(brief: OrderBrief) -> dict[str, list[Item]]:
    """The lines by premises, in their order; the firefighter looks for an address."""
    places: dict[str, list[Item]] = {}
    for item in brief.items:
        places.setdefault(item.premises_key, []).append(item)
    return places


def _headline(brief: OrderBrief, *, words: Words) -> tuple[str, str]:
    several = len(brief.items)
    what = words.ngettext(
        "A fire line at %(place)s has no passing backflow test.",
        "%(count)s fire lines at %(place)s have no passing backflow test.",
        several,
    ) % {"place": brief.place, "count": several}
    left = words.ngettext(
        "We leave the line as it is and report it to you.",
        "We leave the lines as they are and report them to you.",
        several,
    )
    return what, left


def _of_the_line(brief: OrderBrief, *, words: Words) -> tuple[str, ...]:
    """What is owed of the line, what the office does not do, and what the owner was sent."""
    several = len(brief.items)
    told = [
        words.ngettext(
            "The backflow assembly shown keeps the water of a fire line out of the public drinking "
            "water.",
            "The backflow assemblies shown keep the water of fire lines out of the public drinking "
            "water.",
            several,
        ),
        words.gettext("The test was due on the day shown; our record holds no passing test since."),
        cited(
            words.gettext(
                "This office does not shut off a dedicated fire line; it reports to you."
            ),
            brief.citation,
        ),
    ]
    letters = ", ".join(day_in(on, words=words) for on, _title in brief.sent)
    asked = (
        words.ngettext(
            "We wrote to the owner on: %(days)s.",
            "We wrote to the owners on: %(days)s.",
            len(_places(brief)),
        )
        % {"days": letters}
        if letters
        else words.gettext("We have not written to the owner yet.")
    )
    return (sentence_list(told), asked)


def _assemblies(brief: OrderBrief, *, words: Words) -> Table:
    """One row a line, under its premises where there are several; a long list at the end."""
    places = _places(brief)
    heads = (
        words.gettext("Assembly"),
        words.gettext("Where"),
        words.gettext("Last passed"),
        words.gettext("Was due"),
        words.gettext("Standing"),
    )
    groups = tuple(
        RowGroup(
            title=clean(items[0].premises) if len(places) > 1 else "",
            rows=tuple(_row(item, words=words) for item in items),
        )
        for items in places.values()
    )
    is_long = len(brief.items) > LONGEST_WITHIN
    return Table(
        heads=heads, groups=groups, title=words.gettext("The whole list") if is_long else ""
    )


def _row(item: Item, *, words: Words) -> Row:
    passed = item.last_passed_on
    return Row(
        cells=(
            assembly_lines(item, words=words),
            where_lines(item, words=words),
            (day_in(passed, words=words) if passed else words.gettext("none known"),),
            (day_in(item.cure_by or item.due_on, words=words),),
            (words.gettext("Failed") if item.failed_on else words.gettext("Overdue"),),
        )
    )
