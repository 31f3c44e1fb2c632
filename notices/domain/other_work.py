"""Letters that ask for something else than a test: protection of a service, or a survey.

They say what the rulebook's citation gives and nothing more: an order is never announced in
them, for none about a service or a premises is prepared by the clock.
"""

from __future__ import annotations

from collections.abc import Sequence

from notices.domain.addresses import one_line
from notices.domain.briefs import Brief, Item, Words
from notices.domain.cleaning import capital, clean
from notices.domain.content import Row
from notices.domain.kinds import BEFORE_DUE_KINDS, FireLine, Work
from notices.domain.long_dates import NO_BREAK
from notices.domain.wording import N_, cited, day_in, hazard_words

SERVICE_NOT_RECORDED = N_("Kind of service not recorded")


def opening(work: Work, *, words: Words) -> str:
    """Return what the work is good for; it takes %(place)s."""
    if work is Work.SURVEY:
        return words.gettext(
            "A survey finds where used water at %(place)s could flow back into the public "
            "drinking water."
        )
    return words.gettext(
        "Backflow protection keeps used water at %(place)s out of the public drinking water."
    )


def why(brief: Brief, *, words: Words) -> tuple[str, ...]:
    """Return why the work is asked for, with its sources."""
    several = len(brief.items)
    if brief.work is Work.SURVEY:
        why = words.ngettext(
            "One is due by the day shown.", "Each is due by the day shown.", several
        )
        if brief.kind not in BEFORE_DUE_KINDS:
            why = words.gettext("Our record holds none since the day shown.")
        return (cited(why, brief.citation),)
    why = words.ngettext(
        "Our record shows none on this service that protects well enough. One of the types "
        "shown is to be installed by the day shown.",
        "Our record shows none on these services that protects well enough. One of the types "
        "shown is to be installed on each by the day shown.",
        several,
    )
    if brief.kind not in BEFORE_DUE_KINDS:
        why = words.ngettext(
            "One of the types shown had to be installed by the day shown; our record shows none "
            "on this service since.",
            "One of the types shown had to be installed on each by the day shown; our record "
            "shows none on these services since.",
            several,
        )
    sources = (brief.citation, *(item.asks_source for item in brief.items))
    return (cited(why, *sources), _not_assessed(brief, words=words))


def _not_assessed(brief: Brief, *, words: Words) -> str:
    """Say on what the demand rests where nobody looked; it is not called high."""
    if all(item.hazard in {"high", "low"} for item in brief.items):
        return ""
    return words.gettext(
        "Nobody has assessed the hazard yet; until then the stricter rule holds. A survey may "
        "find that less is needed."
    )


def heads(brief: Brief, *, words: Words) -> tuple[str, ...]:
    """Return the heads of the table."""
    due = words.gettext("Due") if brief.kind in BEFORE_DUE_KINDS else words.gettext("Was due")
    standing = words.gettext("Standing")
    if brief.work is Work.SURVEY:
        premises, last = words.gettext("Premises"), words.gettext("Last surveyed")
        return (premises, words.gettext("Hazard"), last, due, standing)
    service, there = words.gettext("Service"), words.gettext("There now")
    return (service, there, words.gettext("Types that protect"), due, standing)


def row_of(item: Item, *, brief: Brief, words: Words) -> Row:
    """Return one service, or one premises, as a row of the table."""
    days = (brief.leaves_on - item.due_on).days
    stands = words.gettext("Due")
    if days > 0:
        late = words.ngettext("%(days)s day", "%(days)s days", days) % {"days": f"{days:,}"}
        stands = f"{words.gettext('Overdue')}, {late.replace(' ', NO_BREAK)}"
    due = (day_in(item.due_on, words=words),)
    if item.work is Work.SURVEY:
        last = item.last_passed_on
        told = day_in(last, words=words) if last else capital(words.gettext("none known"))
        hazard = (capital(hazard_words(item.hazard, words=words)),)
        return Row(cells=((clean(item.premises, cap=120),), hazard, (told,), due, (stands,)))
    return Row(
        cells=(
            service_lines(item, words=words),
            (capital(there_words(item, words=words)),),
            (types_words(item.allowed, words=words),),
            due,
            (stands,),
        )
    )


def service_lines(item: Item, *, words: Words) -> tuple[str, ...]:
    """Return the service and the hazard it stands against, as found."""
    service = words.gettext(item.service) if item.service else words.gettext(SERVICE_NOT_RECORDED)
    first = one_line((service, clean(item.location, cap=120)))
    return (capital(first), hazard_words(item.hazard, words=words))


def there_words(item: Item, *, words: Words) -> str:
    """Return what stands on the service."""
    return ", ".join(item.there) or words.gettext("no assembly")


def types_words(types: Sequence[str], *, words: Words) -> str:
    """Return types as a list with `or` before the last."""
    if len(types) < 2:
        return "".join(types)
    return f"{', '.join(types[:-1])}{words.gettext(' or ')}{types[-1]}"


def steps(work: Work, *, words: Words) -> tuple[str, ...]:
    """Return what to do, in order."""
    if work is Work.SURVEY:
        return (
            words.gettext("Call or write to us and agree on a time."),
            words.gettext("Show where the water comes in and everything that is connected to it."),
            words.gettext(
                "Was it surveyed already, or is the building empty? Call or write to us."
            ),
        )
    return (
        words.gettext(
            "Ask somebody who may do such work here, and ask first whether a permit is needed."
        ),
        words.gettext("Choose one of the types shown. Ask us before it is bought."),
        words.gettext("Tell us once it is in, with its maker, model, size and serial number."),
        words.gettext(
            "Is the service cut off, or is protection there already? Call or write to us."
        ),
    )


def cautions(items: Sequence[Item], *, words: Words) -> tuple[str, ...]:
    """Return the cautions beside work on a service; a survey changes nothing and needs none."""
    mine = [item for item in items if item.work is Work.PROTECTION]
    if not mine:
        return ()
    found = []
    if any(item.fire is not FireLine.NONE for item in mine):  # common practice, as for a test
        found.append(
            words.gettext(
                "Fire line: tell the fire department, the alarm company and the insurer before "
                "the work and again after it. Only those licensed for it change a fire line."
            )
        )
    if any(item.has_medical_supply for item in mine):
        found.append(
            words.gettext(
                "Our record says that water is needed here without a break for medical reasons. "
                "Arrange the supply before water is shut for the work, and tell us if the record "
                "is wrong."
            )
        )
    if any(item.has_tenants for item in mine):
        found.append(words.gettext("Tell the people who live or work there before water is shut."))
    # from memory: a new check closes the system, and heated water needs room to expand
    found.append(
        words.gettext(
            "A new assembly can close off the plumbing: ask how heated water is given room to "
            "expand."
        )
    )
    found.append(
        words.gettext(
            "The maker\u2019s manual, local code and licensed practice decide how the work is done."
        )
    )
    return tuple(found)


def closes(work: Work, *, words: Words) -> str:
    """Say what ends a final notice."""
    if work is Work.SURVEY:
        return words.gettext("A survey closes this notice.")
    return words.gettext("Protection in place closes this notice.")
