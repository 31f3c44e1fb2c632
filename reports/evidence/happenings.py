"""What happened at a premises, as sentences: facts, duties, tests, notices, letters and orders."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from django.db.models import Q
from django.utils.timezone import localdate

from notices.domain.long_dates import long_date
from notices.domain.order_letters import OrderLetter
from notices.models import Letter, Notice, OrderSignature
from notices.queries.letter_names import letter_name
from registry.models import Assembly, Premises
from registry.templatetags.wording import in_prose
from reports.domain.evidence import Event
from reports.models import FieldTest
from scheduling.domain.facts import FactKind
from scheduling.models import Fact, Obligation

NONE = ""
AFTER_ALL = 12
"""The step of what tells, the same day, how it ended."""

WAYS = {
    "mail": "by first-class mail",
    "certified": "by certified mail",
    "hand": "by hand",
    "door": "at the door",
    "e-mail": "by e-mail",
}
FACTS: dict[str, str] = {
    FactKind.INSTALLED: "It was installed",
    FactKind.PASSED: "It passed its test",
    FactKind.FAILED: "It failed its test",
    FactKind.REPAIRED: "It was repaired",
    FactKind.REMOVED: "It was removed",
    FactKind.IDLED: "It went out of use",
    FactKind.RESUMED: "It came back into use",
    FactKind.STOPPED: "The clock of its letters was stopped",
    FactKind.RESTARTED: "The clock of its letters goes on",
    FactKind.HELD: "Its next letter was held",
    FactKind.EXTENDED: "Its due date was extended",
    FactKind.EXEMPTED: "It was exempted",
    FactKind.INCLUDED: "Its exemption ended",
    FactKind.UNTESTABLE: "A visit found that it could not be tested",
}
CLOSED = {
    "met": "was met",
    "missed": "was missed",
    "excused": "was excused",
    "superseded": "gave way to another, after a correction",
}


def kind_words(kind: str) -> str:
    """Return a rung's kind in words."""
    return kind.replace("-", " ").replace("_", " ")


def letter_words(kind: str) -> str:
    """`final notice`: how a letter is named within a sentence."""
    name = letter_name(kind)
    return name[:1].lower() + name[1:]


def way_words(channel: str) -> str:
    """Return how a letter travelled."""
    return WAYS.get(channel, f"by {channel}")


def fact_events(
    premises: Premises, *, assemblies: Sequence[Assembly], is_whole: bool
) -> Iterator[Event]:
    """Facts as they were recorded, and those withdrawn later."""
    mine = Q(assembly__in=[one.pk for one in assemblies])
    if is_whole:
        mine |= Q(premises=premises) | Q(connection__premises=premises)
    for fact in Fact.objects.filter(mine).select_related("assembly").order_by("on", "pk"):
        about = fact.assembly.serial if fact.assembly else NONE
        said = FACTS.get(fact.kind, fact.kind.replace("_", " ").capitalize())
        source = f"{fact.by} ({fact.source})" if fact.by else fact.source
        recorded = f"{source}, recorded {long_date(localdate(fact.recorded_at))}"
        yield Event(on=fact.on, what=f"{said}.", about=about, by=recorded, ground=fact.reason)
        if fact.withdrawn_at is not None:
            yield Event(
                on=localdate(fact.withdrawn_at),
                what=f"Withdrawn: \u201c{said}\u201d of {long_date(fact.on)}.",
                about=about,
                by=fact.withdrawn_by,
                ground=fact.withdrawn_reason,
            )


def duty_events(obligations: Sequence[Obligation]) -> Iterator[Event]:
    """When work came to be owed, and how that ended."""
    for row in obligations:
        about = row.assembly.serial if row.assembly else NONE
        named = row.kind.capitalize()
        if row.opened_on is not None:
            what = f"{named} came to be owed, due {long_date(row.due_on)}."
            yield Event(on=row.opened_on, what=what, about=about, ground=_ground(row))
        if row.cure_by is not None and row.failed_on is not None:
            what = f"After the failure it was to pass by {long_date(row.cure_by)}."
            yield Event(on=row.failed_on, what=what, about=about, ground=_ground(row))
        if row.closed_on is not None:
            ended = CLOSED.get(row.closed_how, row.closed_how)
            what = f"The {row.kind} due {long_date(row.due_on)} {ended}."
            yield Event(on=row.closed_on, what=what, about=about)


def _ground(row: Obligation) -> str:
    """The citation of the rule it is owed by; the rule's own name where it has none."""
    return str(row.detail.get("citation") or row.rule)


def test_events(assemblies: Sequence[Assembly]) -> Iterator[Event]:
    """Field tests as they came in, counted or not."""
    rows = FieldTest.objects.filter(assembly__in=[one.pk for one in assemblies])
    for test in rows.order_by("tested_on", "pk"):
        counts = "It counts." if test.counts else "It does not count."
        certificate = f"certificate {test.tester_certificate}" if test.tester_certificate else NONE
        yield Event(
            on=test.tested_on,
            what=f"A field test: {test.outcome or 'no outcome'}. {counts}",
            about=test.serial,
            by=", ".join(filter(None, (test.tester_name, certificate))),
            ground=f"judged by {test.method}" if test.method else NONE,
        )


def notice_events(notices: Sequence[Notice]) -> Iterator[Event]:
    """What the ladder asked for, why then, and what was withdrawn."""
    for notice in notices:
        about = notice.assembly.serial if notice.assembly else NONE
        named = kind_words(notice.rung)
        told = (one.get("arithmetic", "") for one in notice.reasons if isinstance(one, dict))
        why = in_prose("; ".join(filter(None, map(str, told))))
        yield Event(
            on=notice.recorded_on,
            what=f"The ladder asked for this: {named}.",
            about=about,
            by=why,
            ground=notice.citation,
        )
        if notice.is_brought_along and notice.left_on is not None:
            what = f"The {named} left before this record began, as stated; no copy is kept here."
            yield Event(on=notice.left_on, what=what, about=about)
        if notice.withdrawn_on is not None:
            what = f"The {named} was withdrawn before it left."
            if notice.left_on is not None:
                what = f"The {named} was withdrawn."
            yield Event(
                on=notice.withdrawn_on, what=what, about=about, ground=notice.withdrawn_reason
            )
        if notice.sent_in_error_on is not None:
            what = f"The {named} turned out to be sent in error; it counts for nothing."
            yield Event(
                on=notice.sent_in_error_on,
                what=what,
                about=about,
                by=notice.sent_in_error_by,
                ground=notice.sent_in_error_reason,
            )


def letter_events(letters: Sequence[Letter]) -> Iterator[Event]:
    """How each letter went: released, left by each way, came to grief, ended."""
    for letter in letters:
        named = f"Letter {letter.number} ({letter_words(letter.kind)})"
        step = AFTER_ALL if letter.kind == OrderLetter.WATER_BACK else 0
        if letter.released_at is not None and not letter.is_order:
            what = f"{named} was released."
            on = localdate(letter.released_at)
            yield Event(on=on, what=what, by=letter.released_by, step=step)
        for way in letter.deliveries.all():
            if way.left_on is not None:
                number = f", number {way.tracking}" if way.tracking else NONE
                what = f"{named} left {way_words(way.channel)}{number}."
                yield Event(on=way.left_on, what=what, by=in_prose(way.detail), step=step)
            for tried in way.log.all():
                if tried.outcome in {"bounced", "refused", "printed again"}:
                    what = f"{named}, {way_words(way.channel)}: {tried.outcome}."
                    said = f"{tried.code} {tried.words}".strip()
                    yield Event(on=localdate(tried.at), what=what, by=said)
        if letter.ended_on is not None:
            what = f"{named} was {letter.state}."
            yield Event(on=letter.ended_on, what=what, ground=letter.ended_reason)


def signature_events(letters: Sequence[Letter]) -> Iterator[Event]:
    """Who signed an order, and the check sum of what they had read."""
    rows = OrderSignature.objects.filter(letter__in=letters).select_related("letter", "second")
    for signature in rows.order_by("at"):
        people = [("signed", signature.name, signature.role, signature.at)]
        second = getattr(signature, "second", None)
        if second is not None:
            people.append(("signed by a second person", second.name, second.role, second.at))
        for how, name, role, at in people:
            yield Event(
                on=localdate(at),
                what=f"Order {signature.letter.number} was {how}.",
                by=f"{name}, {role}",
                ground=f"evidence read: SHA-256 {signature.evidence_sha256[:16]}\u2026",
            )
