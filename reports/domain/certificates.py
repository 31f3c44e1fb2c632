"""What a certificate says: one counted field test in full, in words of the reader's language.

Everything is decided here; the sheet and the public page print it.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, time
from decimal import Decimal
from enum import StrEnum

from notices.domain.briefs import Words
from notices.domain.long_dates import long_date
from notices.domain.wording import size_words
from reports.domain.certificate_lines import CertificatePart, PartTested, part_shown

LANGUAGES = ("en", "es")


class Genuine(StrEnum):
    """What the public page says of a certificate."""

    LATEST = "latest"
    OVERTAKEN = "overtaken"
    CHANGED = "changed"
    WITHDRAWN = "withdrawn"


@dataclass(frozen=True, kw_only=True)
class Tested:
    """One counted field test and what it was done at, with and by whom."""

    program: str
    number: str
    type: str
    size_in: Decimal
    maker: str
    model: str
    serial: str
    location: str
    premises: str
    address: str
    on: date
    at: time | None
    tester: str
    tester_certificate: str
    company: str
    gauge: str
    gauge_calibrated_on: date | None
    method: str
    unit: str
    passed: bool
    repairs: str
    parts: tuple[PartTested, ...]
    is_on_fire_line: bool = False


@dataclass(frozen=True, kw_only=True)
class CertificateContent:
    """The whole sheet."""

    language: str
    title: str
    number: str
    headline: str
    under: str
    pairs: tuple[tuple[str, str], ...]
    heads: tuple[str, str, str, str, str]
    parts: tuple[CertificatePart, ...]
    repairs: tuple[str, str]
    qr_words: str
    cautions_heading: str
    cautions: tuple[str, ...]
    foot: str
    page_words: str


def certificate_content(tested: Tested, *, words: Words, language: str) -> CertificateContent:
    """The certificate in a language."""
    say = words.gettext
    day = long_date(tested.on, language=language)
    return CertificateContent(
        language=language,
        title=say("Certificate of field test"),
        number=tested.number,
        headline=_headline(tested, words=words) % {"day": day},
        under=_under(tested, words=words),
        pairs=_pairs(tested, words=words, language=language),
        heads=(
            say("Reading"),
            say("Recorded, %(unit)s") % {"unit": tested.unit},
            say("Limit"),
            say("Margin"),
            say("Verdict"),
        ),
        parts=tuple(part_shown(one, words=words) for one in tested.parts),
        repairs=(say("Repairs and parts"), tested.repairs),
        qr_words=say(
            "Is this genuine, and still the latest? The code opens a page of the program that says"
            " so, and shows the check sum of this file."
        ),
        cautions_heading=say("Keep in mind"),
        cautions=_cautions(tested, words=words),
        foot=say("Certificate %(number)s") % {"number": tested.number},
        page_words=say("Page %(page)s of %(pages)s"),
    )


def certificate_name(*, program_code: str, digest: str, core: str, language: str) -> str:
    """What names a certificate under the key of links; no letter can have this name."""
    return f"certificate:{program_code}/{digest}/{core}/{language}"


def core_sha256(
    *, assembly_id: int | None, on: date, outcome: str, verdict: Mapping[str, object]
) -> str:
    """The digest of what a certificate certifies; a record changed since has another."""
    judged = [_judged(verdict.get(part)) for part in ("initial", "final")]
    core = [assembly_id, on.isoformat(), outcome, judged]
    return hashlib.sha256(json.dumps(core, sort_keys=True).encode()).hexdigest()


def _judged(part: object) -> list[list[object]]:
    """What one part measured and how it was judged; the words around it may change."""
    criteria = part.get("criteria", []) if isinstance(part, Mapping) else []
    return [[one.get(name) for name in ("name", "reading", "limit", "met")] for one in criteria]


def genuineness(
    *, counts: bool, fact_withdrawn: bool, core_kept: str, core_now: str, has_later: bool
) -> Genuine:
    """Whether a certificate still says what the record says: the gravest answer first."""
    if not counts or fact_withdrawn:
        return Genuine.WITHDRAWN
    if core_kept != core_now:
        return Genuine.CHANGED
    return Genuine.OVERTAKEN if has_later else Genuine.LATEST


def _headline(tested: Tested, *, words: Words) -> str:
    if not tested.passed:
        return words.gettext("Did not pass its field test of %(day)s")
    if any(part.is_final for part in tested.parts):
        return words.gettext("Passed its field test of %(day)s, after repair")
    return words.gettext("Passed its field test of %(day)s")


def _under(tested: Tested, *, words: Words) -> str:
    return words.gettext(
        "%(program)s has this test on record and counts it. Readings are judged before any"
        " rounding."
    ) % {"program": tested.program}


def _pairs(tested: Tested, *, words: Words, language: str) -> tuple[tuple[str, str], ...]:
    say = words.gettext
    place = ", ".join(part for part in (tested.premises, tested.address) if part)
    made_by = " ".join(part for part in (tested.maker, tested.model) if part)
    told = [
        (say("Assembly"), f"{tested.type}, {size_words(tested.size_in)}"),
        (say("Maker, model"), made_by),
        (say("Serial number"), tested.serial),
        (say("At"), place),
        (say("Place of the assembly"), tested.location),
        (say("Tester"), _and(tested.tester, tested.tester_certificate, words=words)),
        (say("Testing company"), tested.company),
        (say("Gauge"), _gauge(tested, words=words, language=language)),
        (say("Method and limits"), tested.method),
    ]
    if tested.at:
        told.insert(5, (say("Time"), f"{tested.at:%H:%M}"))
    return tuple((name, value) for name, value in told if value)


def _and(name: str, certificate: str, *, words: Words) -> str:
    told = words.gettext("certificate %(number)s") % {"number": certificate} if certificate else ""
    return ", ".join(part for part in (name, told) if part)


def _gauge(tested: Tested, *, words: Words, language: str) -> str:
    if not tested.gauge or tested.gauge_calibrated_on is None:
        return tested.gauge
    day = long_date(tested.gauge_calibrated_on, language=language)
    return words.gettext("%(serial)s, calibrated %(day)s") % {"serial": tested.gauge, "day": day}


def _cautions(tested: Tested, *, words: Words) -> tuple[str, ...]:
    """The usual ones (common practice; the closed system from memory); the last always stands."""
    say = words.gettext
    told = [
        say("It says how the assembly stood on that day, and promises nothing for later days."),
        say(
            "Leave its valves and test cocks as they are: a person who may do so here works on"
            " them, after the owner is asked."
        ),
        say(
            "A check valve closes the system: heated water needs somewhere to expand. Ask a"
            " licensed plumber."
        ),
    ]
    if tested.is_on_fire_line:
        told.append(
            say(
                "Fire line: the valves stay fully open. The fire department and the alarm company"
                " are told before and after any work."
            )
        )
    if not tested.passed:
        told.insert(
            1,
            say(
                "Below a limit means that the protection is not sure. It does not mean that water"
                " flowed back."
            ),
        )
    told.append(say("The maker’s manual, local code and licensed practice decide."))
    return tuple(told)
