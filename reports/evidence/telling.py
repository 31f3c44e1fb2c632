"""Gathers a case from what is stored: facts, obligations, notices, letters, tests, signatures."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date

from django.db.models import Q

from notices.models import Letter, LetterNotice, Notice, OrderSignature
from registry.changes import Hand
from registry.models import Assembly, Premises
from reports.domain.evidence import Event, LetterTold, Rules, Story, Way, in_order
from reports.models import FieldTest
from scheduling.models import Fact, Obligation

EMPTY = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Case:
    """What the evidence is about: a premises, or one obligation there."""

    premises: Premises
    obligation: Obligation | None = None


def story_of(case: Case, *, as_of: date, hand: Hand, head: str = EMPTY) -> Story:
    """Return the story of a case with all that is on record of it, to the day asked about."""
    premises = case.premises
    assemblies = _assemblies(case)
    obligations = _obligations(case, assemblies=assemblies)
    notices = list(
        Notice.objects.filter(obligation__in=[row.pk for row in obligations])
        .filter(recorded_on__lte=as_of)
        .select_related("assembly", "obligation")
    )
    letters = _letters(notices)
    about = f"{premises.account} {premises.address}, {premises.city}".strip(" ,")
    if case.obligation is not None:
        about = f"{about}: {case.obligation}"
    return Story(
        office=premises.program.name,
        program=premises.program.code,
        about=about,
        as_of=as_of,
        made_at=hand.at.isoformat(timespec="seconds"),
        made_by=hand.by,
        things=tuple(_thing(one) for one in assemblies),
        events=in_order(
            event
            for found in (
                _facts(case, assemblies=assemblies),
                _duties(obligations),
                _tests(assemblies),
                _recorded(notices),
                _sent(letters),
                _signed(letters),
            )
            for event in found
            if event.on <= as_of
        ),
        letters=tuple(_letter(one) for one in letters),
        rules=tuple(_rules(obligations, notices=notices)),
        head=head,
    )


def letters_of(story: Story, *, premises: Premises) -> dict[str, bytes]:
    """Return the kept bytes of the story's letters, by the name of their attachment."""
    numbers = [one.number for one in story.letters if one.file]
    rows = Letter.objects.filter(
        program=premises.program_id, number__in=numbers, file__isnull=False
    )
    return {f"{row.number}.pdf": bytes(row.file.pdf) for row in rows.select_related("file")}


def _assemblies(case: Case) -> list[Assembly]:
    rows = Assembly.objects.filter(premises=case.premises).order_by("serial", "pk")
    if case.obligation is not None:
        rows = rows.filter(obligations=case.obligation)
    return list(rows)


def _obligations(case: Case, *, assemblies: Sequence[Assembly]) -> list[Obligation]:
    rows = Obligation.objects.select_related("rulebook", "assembly").order_by("opens_on", "pk")
    if case.obligation is not None:
        return list(rows.filter(pk=case.obligation.pk))
    ids = [one.pk for one in assemblies]
    mine = Q(assembly__in=ids) | Q(premises=case.premises) | Q(connection__premises=case.premises)
    return list(rows.filter(mine))


def _thing(one: Assembly) -> tuple[str, ...]:
    size = f"{one.size_in.normalize():f} in" if one.size_in is not None else EMPTY
    return (one.serial, one.type, size, one.location, one.hazard)


def _facts(case: Case, *, assemblies: Sequence[Assembly]) -> Iterator[Event]:
    ids = [one.pk for one in assemblies]
    mine = Q(assembly__in=ids)
    if case.obligation is None:
        mine |= Q(premises=case.premises) | Q(connection__premises=case.premises)
    for fact in Fact.objects.filter(mine).select_related("assembly").order_by("on", "pk"):
        about = fact.assembly.serial if fact.assembly else EMPTY
        source = f"{fact.source}, recorded {fact.recorded_at.date().isoformat()}"
        yield Event(on=fact.on, what=fact.kind, about=about, by=f"{source} {fact.by}".strip())
        if fact.withdrawn_at is not None:
            yield Event(
                on=fact.withdrawn_at.date(),
                what=f"withdrawn: {fact.kind} of {fact.on.isoformat()}",
                about=about,
                by=fact.withdrawn_by,
                ground=fact.withdrawn_reason,
            )


def _duties(obligations: Sequence[Obligation]) -> Iterator[Event]:
    for row in obligations:
        about = row.assembly.serial if row.assembly else row.kind
        if row.opened_on is not None:
            what = f"{row.kind} owed, due {row.due_on.isoformat()}"
            yield Event(on=row.opened_on, what=what, about=about, ground=row.rule)
        if row.closed_on is not None:
            yield Event(on=row.closed_on, what=f"{row.kind} closed: {row.closed_how}", about=about)


def _tests(assemblies: Sequence[Assembly]) -> Iterator[Event]:
    rows = FieldTest.objects.filter(assembly__in=[one.pk for one in assemblies])
    for test in rows.order_by("tested_on", "pk"):
        counts = "counts" if test.counts else "does not count"
        yield Event(
            on=test.tested_on,
            what=f"field test: {test.outcome or 'no outcome'}, {counts}",
            about=test.serial,
            by=f"{test.tester_name} {test.tester_certificate}".strip(),
            ground=test.method,
        )


def _recorded(notices: Sequence[Notice]) -> Iterator[Event]:
    for notice in notices:
        about = notice.assembly.serial if notice.assembly else EMPTY
        why = "; ".join(str(one.get("arithmetic", "")) for one in notice.reasons if one)
        yield Event(
            on=notice.recorded_on,
            what=f"notice recorded: {notice.rung}" + (f" ({why})" if why else ""),
            about=about,
            ground=notice.citation,
        )
        if notice.withdrawn_on is not None:
            yield Event(
                on=notice.withdrawn_on,
                what=f"notice withdrawn: {notice.rung}",
                about=about,
                ground=notice.withdrawn_reason,
            )


def _letters(notices: Sequence[Notice]) -> list[Letter]:
    carried = LetterNotice.objects.filter(notice__in=[one.pk for one in notices])
    rows = Letter.objects.filter(pk__in=carried.values("letter")).select_related("file")
    return list(
        rows.prefetch_related("deliveries__log", "carried__notice__assembly").order_by(
            "composed_on", "pk"
        )
    )


def _sent(letters: Sequence[Letter]) -> Iterator[Event]:
    for letter in letters:
        if letter.released_at is not None:
            yield Event(
                on=letter.released_at.date(),
                what=f"letter {letter.number} released",
                by=letter.released_by,
            )
        for way in letter.deliveries.all():
            if way.left_on is not None:
                what = f"letter {letter.number} left by {way.channel}"
                yield Event(on=way.left_on, what=what, by=way.detail)
            for tried in way.log.all():
                if tried.outcome in {"bounced", "refused", "printed again"}:
                    what = f"letter {letter.number} by {way.channel}: {tried.outcome}"
                    said = f"{tried.code} {tried.words}".strip()
                    yield Event(on=tried.at.date(), what=what, by=said)
        if letter.ended_on is not None:
            what = f"letter {letter.number} {letter.state}"
            yield Event(on=letter.ended_on, what=what, ground=letter.ended_reason)


def _signed(letters: Sequence[Letter]) -> Iterator[Event]:
    rows = OrderSignature.objects.filter(letter__in=letters).select_related("letter")
    for signature in rows.order_by("at"):
        yield Event(
            on=signature.at.date(),
            what=f"order {signature.letter.number} signed",
            by=f"{signature.name}, {signature.role}",
            ground=f"evidence seen: SHA-256 {signature.evidence_sha256}",
        )


def _letter(letter: Letter) -> LetterTold:
    kept = getattr(letter, "file", None)
    return LetterTold(
        number=letter.number,
        kind=letter.kind,
        to=tuple(letter.address_lines),
        composed_on=letter.composed_on.isoformat(),
        state=letter.state,
        left_on=letter.left_on.isoformat() if letter.left_on else EMPTY,
        released_by=letter.released_by,
        ended=letter.ended_reason,
        carries=tuple(
            f"{one.notice.rung} {one.notice.assembly.serial if one.notice.assembly else ''}".strip()
            for one in letter.carried.all()
        ),
        ways=tuple(
            Way(
                channel=way.channel,
                state=way.state,
                left_on=way.left_on.isoformat() if way.left_on else EMPTY,
                detail=way.detail,
                tracking=way.tracking,
                tries=tuple(
                    f"{one.at.isoformat(timespec='minutes')} {one.outcome} {one.code} {one.words}"
                    for one in way.log.all()
                ),
            )
            for way in letter.deliveries.all()
        ),
        pages=kept.pages if kept else 0,
        sha256=kept.sha256 if kept else EMPTY,
        file=f"{letter.number}.pdf" if kept else EMPTY,
    )


def _rules(obligations: Sequence[Obligation], *, notices: Sequence[Notice]) -> Iterator[Rules]:
    books = {row.rulebook_id: row.rulebook for row in obligations}
    for pk, book in books.items():
        mine = {row.pk for row in obligations if row.rulebook_id == pk}
        used = (one.citation for one in notices if one.obligation_id in mine and one.citation)
        yield Rules(
            title=book.title,
            edition=f"{book.name}, edition {book.edition}",
            sha256=book.sha256,
            citations=tuple(dict.fromkeys(used)),
        )
