"""What offices call their letters, as rungs of a ladder; where two fit, the day decides."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from registry.domain.cells import letters_of, spellings
from scheduling.domain.ladders import Ladder, Rung, Trigger
from scheduling.domain.obligations import ClosedHow, Obligation

EARLY_COURTESY = timedelta(days=62)
"""How long before an obligation opens another office's courtesy letter may have left for it."""

# Common practice: offices number their letters, and one number means another rung before the
# due date than after it. The first key that the ladder has and the day fits is taken.
_WORDS: Mapping[tuple[str, ...], str] = {
    ("test-owed",): "TESTOWED INITIALNOTICE INITIALTESTNOTICE NEWASSEMBLYLETTER NEWINSTALLLETTER"
    " INSTALLATIONNOTICE TESTREQUIRED TESTREQUIREDNOTICE",
    ("reminder",): "REMINDER FIRSTREMINDER 1STREMINDER COURTESYNOTICE COURTESYLETTER COURTESY"
    " COURTESYREMINDER ANNUALNOTICE ANNUALTESTNOTICE DUENOTICE TESTDUENOTICE UPCOMINGTEST"
    " UPCOMINGTESTNOTICE REMINDERLETTER",
    ("second-reminder",): "SECONDREMINDER 2NDREMINDER REMINDER2 FINALREMINDER",
    ("reminder", "first-overdue"): "FIRSTNOTICE 1STNOTICE NOTICE1 FIRSTLETTER 1STLETTER LETTER1",
    ("second-reminder", "second-overdue", "first-overdue"): "SECONDNOTICE 2NDNOTICE NOTICE2"
    " SECONDLETTER 2NDLETTER LETTER2",
    ("final", "second-overdue"): "THIRDNOTICE 3RDNOTICE NOTICE3 THIRDLETTER 3RDLETTER LETTER3",
    ("first-overdue",): "FIRSTOVERDUE OVERDUE OVERDUENOTICE OVERDUELETTER PASTDUE PASTDUENOTICE"
    " PASTDUELETTER DELINQUENT DELINQUENTNOTICE FIRSTOVERDUENOTICE 1STOVERDUE FIRSTPASTDUE"
    " NONCOMPLIANCENOTICE NOTICEOFVIOLATION VIOLATIONNOTICE NOV LATENOTICE",
    ("second-overdue",): "SECONDOVERDUE 2NDOVERDUE SECONDOVERDUENOTICE SECONDPASTDUE 2NDPASTDUE"
    " SECONDVIOLATION SECONDDELINQUENT",
    ("final",): "FINAL FINALNOTICE FINALLETTER LASTNOTICE FINALWARNING SHUTOFFNOTICE"
    " SHUTOFFWARNING DISCONNECTNOTICE DISCONNECTIONNOTICE TERMINATIONNOTICE DOORHANGER DOORTAG"
    " FINALOVERDUE TENDAYNOTICE 10DAYNOTICE NOTICEOFSHUTOFF",
    ("shutoff-order",): "SHUTOFFORDER SHUTOFF TURNOFFORDER DISCONNECTORDER DISCONNECTIONORDER"
    " TERMINATIONORDER LOCKOFF",
    ("repair",): "REPAIR REPAIRNOTICE REPAIRLETTER FAILEDTESTNOTICE FAILEDTESTLETTER FAILURENOTICE"
    " FAILURELETTER FAILEDNOTICE FAILLETTER",
}
_MEANT = {word: keys for keys, words in _WORDS.items() for word in spellings(words)}


@dataclass(frozen=True, slots=True, kw_only=True)
class Fit:
    """The obligation, rung and occurrence a past letter counts for."""

    place: int
    rung: Rung
    occurrence: str


def rungs_meant(said: str, *, ladder: Ladder) -> tuple[str, ...]:
    """Return the rung keys that a letter's name can mean in a ladder; none: nobody knows it.

    The ladder's own keys go before the trade's words.
    """
    word = letters_of(said)
    keys = {rung.key for rung in ladder.rungs}
    own = [key for key in keys if letters_of(key) == word]
    return tuple(own or [key for key in _MEANT.get(word, ()) if key in keys])


def fit(
    *, meant: Sequence[str], left_on: date, obligations: Sequence[Obligation], ladder: Ladder
) -> Fit | None:
    """Return what a letter of a day counts for, or None where it fits no obligation.

    `place` is that in `obligations`, which are of one assembly. A courtesy rung belongs before
    the due date, an overdue rung after it or after a failure. Example: due 2025-09-04, a second
    notice of 2025-08-20 is the second reminder, one of 2025-10-06 the second overdue.
    """
    for key in meant:
        rung = ladder.rung(key)
        for place in range(len(obligations) - 1, -1, -1):
            occurrence = _occurrence(rung, left_on=left_on, obligation=obligations[place])
            if occurrence is not None:
                return Fit(place=place, rung=rung, occurrence=occurrence)
    return None


def _occurrence(rung: Rung, *, left_on: date, obligation: Obligation) -> str | None:
    """The occurrence of a rung that a letter of a day is, or None where it does not fit."""
    begins = obligation.opens_on - (EARLY_COURTESY if rung.is_skippable else timedelta())
    ended = obligation.closed_on is not None and left_on > obligation.closed_on
    if obligation.closed_how is ClosedHow.SUPERSEDED or ended or left_on < begins:
        return None
    if rung.trigger is Trigger.PROMPTED:
        prompts = [day for day in obligation.prompts if day <= left_on]
        return max(prompts).isoformat() if prompts else None
    return "" if _is_its_time(rung, left_on=left_on, obligation=obligation) else None


def _is_its_time(rung: Rung, *, left_on: date, obligation: Obligation) -> bool:
    has_failed = obligation.failed_on is not None and obligation.failed_on <= left_on
    if rung.is_skippable:
        return left_on <= obligation.due_on
    if rung.trigger is Trigger.FAILED:
        return has_failed
    if rung.trigger is Trigger.DUE and rung.offset_days >= 0:
        return has_failed or left_on > obligation.due_on
    return True
