"""Erases a party: name, addresses, letters to it, and where texts of its premises name it."""

from __future__ import annotations

import json
import secrets
from collections.abc import Iterator, Sequence
from datetime import date
from typing import Any

from django.db.models import Q

from notices.domain.deliveries import DeliveryState
from notices.domain.kinds import UNSENT_STATES, LetterState
from notices.models import (
    Contact,
    Delivery,
    DeliveryTry,
    Gathering,
    Letter,
    LetterFile,
    LetterInvitation,
    LetterNotice,
    MailStop,
    Objection,
    OwnerWords,
    ReturnedLetter,
)
from registry.models import (
    Alias,
    Change,
    Membership,
    Merge,
    Party,
    Premises,
    PremisesParty,
    Program,
    Proposal,
    Question,
    SetAsideRow,
)
from reports.domain.blackening import Blackener
from reports.erasing.acting import Work
from reports.erasing.people import known_premises, letters_to
from reports.models import EntryVersion, FieldEntry, FieldTest, Job, Paper, PaperKeying

ERASED = "Erased"
RECORD = ("body", "signed_name", "attestation")
CHANGED = ("before", "after", "label", "reason")


def erase_party(party: Party, *, program: Program, today: date, also: Sequence[str] = ()) -> Work:
    """Do it; the premises stay with their addresses, which name a place and nobody."""
    sites = known_premises(party)
    work = Work(program=program, black=Blackener([*_mentions(party, sites), *also]), today=today)
    _letters(work, party)
    _at_sites(work, [one.pk for one in sites])
    _records(work, party)
    work.blacken("premises", sites, ("name", "phone", "access_notes", "notes", "call_when",
                                     "shutdown_tell", "medical_consent"))  # fmt: skip
    ended = PremisesParty.objects.filter(party=party).filter(
        Q(until_on__isnull=True) | Q(until_on__gt=today)
    )
    for role in ended:
        work.set("roles ended", role, {"until_on": today})
    blank = dict.fromkeys(("address", "city", "state", "zip", "email", "phone"), "")
    key = f"erased:{secrets.token_hex(16)}"
    work.set("party", party, {**blank, "name": ERASED, "language": "en", "key": key})
    return work


def _mentions(party: Party, sites: list[Premises]) -> Iterator[str]:
    yield from (party.name, party.email, party.phone)
    yield from Alias.objects.filter(party=party).values_list("shown", flat=True)
    # A street that is a premises' own names the place, and stays.
    here = {one.address.strip().lower() for one in sites}
    if party.address.strip().lower() not in here:
        yield party.address


def _letters(work: Work, party: Party) -> None:
    _take_back_unsent(work, party)
    for letter in letters_to(party).only("pk", "number", "content").order_by("pk"):
        title = letter.content.get("title", "")
        values = {
            "address_lines": [ERASED],
            "content": {"title": title, "erased": True},
            "recipient": None,
            "mailing_zip": "",
            "token_hash": f"erased:{letter.pk}",
        }
        work.set("letters", letter, values, kinds=("letter",))
        work.letters.append(letter.pk)
    ids = work.letters
    LetterFile.objects.filter(pk__in=ids).update(pdf=b"")
    for delivery in Delivery.objects.filter(letter__in=ids):
        told = {"address": "", "detail": work.black.text(delivery.detail)}
        work.set("deliveries", delivery, told, kinds=("letter left",))
    for one in DeliveryTry.objects.filter(delivery__letter__in=ids):
        work.set("tries to deliver", one, {"words": ERASED if one.words else "", "source": ""})
    for words in OwnerWords.objects.filter(letter__in=ids):
        work.set("words on the owner's page", words, {"words": ERASED, "reach": ""})
    for back in ReturnedLetter.objects.filter(letter__in=ids):
        kept = {"words": work.black.text(back.words)}
        work.set("letters that came back", back,
                 {**kept, "settled_words": work.black.text(back.settled_words)})  # fmt: skip
    for invitation in LetterInvitation.objects.filter(letter__in=ids):
        work.set("invitations", invitation, {"text": ""})
    if party.email:
        stops = MailStop.objects.filter(program=work.program, address=party.email.lower())
        work.delete("stopped addresses", stops)


def _take_back_unsent(work: Work, party: Party) -> None:
    """What has not left is withdrawn; what is still owed is composed anew, to whoever is there."""
    ids = list(letters_to(party).filter(state__in=UNSENT_STATES).values_list("pk", flat=True))
    reason = "The person it was for was erased before it left."
    Letter.objects.filter(pk__in=ids).update(
        state=LetterState.WITHDRAWN, ended_on=work.today, ended_reason=reason
    )
    LetterNotice.objects.filter(letter__in=ids).update(is_live=False)
    Delivery.objects.filter(letter__in=ids, state=DeliveryState.WAITING).update(
        state=DeliveryState.WITHDRAWN
    )


def _at_sites(work: Work, sites: list[int]) -> None:
    """Texts about the premises: only what names the person is barred."""
    work.blacken("contacts", Contact.objects.filter(premises__in=sites),
                 ("spoken_with", "words"), kinds=("contact",))  # fmt: skip
    objections = Objection.objects.filter(premises__in=sites)
    names = ("raised_by", "words", "decision")
    work.blacken("objections", objections, names, kinds=("objection", "objection decided"))
    work.blacken("questions", Question.objects.filter(premises__in=sites),
                 ("text", "detail", "answer"))  # fmt: skip
    work.blacken("jobs", Job.objects.filter(premises__in=sites), ("asked_by", "bill_to", "notes"))
    tests = FieldTest.objects.filter(assembly__premises__in=sites)
    work.blacken("field tests", tests, ("cells", "remarks"), kinds=("field test",))
    at_sites = Q(assembly__premises__in=sites) | Q(field_test__assembly__premises__in=sites)
    entries = FieldEntry.objects.filter(at_sites, program=work.program).defer("signature")
    work.blacken("records as they came", entries, RECORD)
    versions = EntryVersion.objects.filter(entry__in=entries.values("pk"))
    work.blacken("records as they came", versions, ("body",))
    scans = Paper.objects.filter(entry__in=entries.values("pk")).defer("content")
    work.blacken("scanned reports", scans, ("file_name",))
    keyings = PaperKeying.objects.filter(
        Q(paper__in=scans.values("pk")) | Q(assembly__premises__in=sites)
    )
    work.blacken("readings of paper", keyings, ("fields",))


def _records(work: Work, party: Party) -> None:
    """What was written down of changes and loads; one look through the program for each."""
    program = work.program
    proposals = Proposal.objects.filter(Q(party=party) | Q(premises__parties=party)).distinct()
    work.blacken("proposals", proposals, ("before", "after", "note"))
    own = Change.objects.filter(program=program, what="party", subject_id=party.pk)
    for change in own:
        bars = {name: _barred(getattr(change, name)) for name in ("before", "after")}
        work.set("changes", change, {**bars, "label": ERASED})
    others = Change.objects.filter(program=program).exclude(pk__in=own.values("pk"))
    work.blacken("changes", _holding(others, work.black, "label", "before", "after", "reason"),
                 CHANGED)  # fmt: skip
    aside = SetAsideRow.objects.filter(batch__program=program)
    work.blacken("rows set aside", _holding(aside, work.black, "cells"), ("cells", "faults"))
    merges = Merge.objects.filter(program=program, what="party")
    for merge in merges.filter(Q(kept_id=party.pk) | Q(gone_id=party.pk)):
        labels = {"kept_label": ERASED, "gone_label": ERASED, "record": {}}
        work.set("merges", merge, labels)
    work.delete("old names", Alias.objects.filter(party=party))
    work.delete("gatherings", Gathering.objects.filter(party=party))
    work.delete("roles of managers", Membership.objects.filter(party=party))


def _holding(rows: Any, black: Blackener, *names: str) -> Any:
    """Rows in which a mention stands, as JSON writes it or as it is."""
    wanted = Q(pk__in=[])
    for mention in black.mentions:
        for text in {mention, json.dumps(mention)[1:-1]}:
            for name in names:
                wanted |= Q(**{f"{name}__icontains": text})
    return rows.filter(wanted)


def _barred(values: dict[str, Any]) -> dict[str, Any]:
    return {name: ERASED if value not in (None, "") else value for name, value in values.items()}
