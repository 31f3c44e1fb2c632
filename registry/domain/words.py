"""What offices write for a hazard, a service, a status, a result: read as the closed lists."""

import re
from enum import StrEnum

from registry.domain.cells import Reading, clean, is_none, letters_of, spellings
from registry.domain.kinds import Hazard, Protects, ServiceKind


class StatedStatus(StrEnum):
    """What a spreadsheet says of an assembly's present state."""

    ACTIVE = "active"
    INACTIVE = "inactive"
    REMOVED = "removed"


class StatedResult(StrEnum):
    """What a spreadsheet says of the last test."""

    PASS = "pass"  # noqa: S105 (a word of the trade)
    FAIL = "fail"


_HIGH = spellings(
    "HIGH H HI HEALTH HEALTHHAZARD HIGHHAZARD HIGHHEALTH HIGHHEALTHHAZARD HEALTHHIGH HIGHRISK"
    " HIGHDEGREE CONTAMINANT CONTAMINATION CONTAMINANTHIGH HIGHCONTAMINANT TOXIC SEVERE"
    " SEVEREHAZARD HEALTHHAZARDHIGH"
)
_LOW = spellings(
    "LOW L LO NONHEALTH NONHEALTHHAZARD NONHEALTHLOW LOWNONHEALTH LOWHAZARD LOWNONHEALTHHAZARD"
    " NOTHEALTH LOWRISK LOWDEGREE POLLUTANT POLLUTION POLLUTANTLOW LOWPOLLUTANT NONTOXIC MINOR"
    " MINORHAZARD NOHEALTHHAZARD NOTAHEALTHHAZARD"
)
_NOT_ASSESSED = frozenset({"", "NOTASSESSED", "UNASSESSED", "NOTYETASSESSED", "NONEASSESSED"})

_SERVICE_WORDS = {
    ServiceKind.DOMESTIC: "DOMESTIC DOM DOMES POTABLE HOUSE WATER",
    ServiceKind.IRRIGATION: "IRRIGATION IRR IRRIG IRRI IRRG LAWN LANDSCAPE LANDSCAPING TURF GARDEN",
    ServiceKind.FIRE: "FIRE FIRELINE FIRESPRINKLER FIREPROTECTION FP FL FIRESERVICE FIRESYSTEM",
    ServiceKind.RECLAIMED: "RECLAIMED RECYCLED REUSE RECLAIM RECL RW",
    ServiceKind.AUXILIARY: "AUXILIARY AUX WELL",
}
_SERVICE_OF = {word: kind for kind, words in _SERVICE_WORDS.items() for word in words.split()}
_SERVICE_SILENT = spellings(
    "LINE SERVICE SERVICES SVC SYSTEM SYS AND SUPPLY ONLY PROTECTION SPRINKLER SPRINKLERS METER"
    " CONNECTION USE WATER"
)
_COMBINED = frozenset({"COMBINED", "COMBO", "COMB", "COMBINATION"})

_STATUS_WORDS = {
    StatedStatus.ACTIVE: "ACTIVE A ACT Y YES INSERVICE INUSE INSTALLED CURRENT EXISTING ON TRUE"
    " OPERATIONAL OPERATING LIVE OK T 1 X OPEN ENABLED",
    StatedStatus.INACTIVE: "INACTIVE I INACT N NO OUTOFSERVICE OOS NOTINUSE NOTINSERVICE IDLE OFF"
    " FALSE F 0 SHUTOFF TURNEDOFF DORMANT VACANT WINTERIZED WINTERISED DISCONNECTED SUSPENDED"
    " TEMPORARILYOUTOFSERVICE NOTACTIVE DISABLED",
    StatedStatus.REMOVED: "REMOVED R REM REMOVAL RETIRED DELETED DEL GONE TAKENOUT PULLED SCRAPPED"
    " DECOMMISSIONED DEMOLISHED DEMO ABANDONED REPLACED NOLONGERINSTALLED",
}
_STATUS_OF = {word: said for said, words in _STATUS_WORDS.items() for word in words.split()}

_ASKED = {
    "REMOVED": StatedStatus.REMOVED,
    "ISREMOVED": StatedStatus.REMOVED,
    "INACTIVE": StatedStatus.INACTIVE,
    "ISINACTIVE": StatedStatus.INACTIVE,
    "OUTOFSERVICE": StatedStatus.INACTIVE,
}
"""Headers that ask a question which yes and no answer."""

_RESULT_WORDS = {
    StatedResult.PASS: "PASS P PASSED PASSES OK SATISFACTORY SAT ACCEPTABLE GOOD Y YES PASSING",
    StatedResult.FAIL: "FAIL F FAILED FAILS FAILING UNSATISFACTORY UNSAT BAD N NO FAILURE",
}
_RESULT_OF = {word: said for said, words in _RESULT_WORDS.items() for word in words.split()}

_YES = spellings("Y YES T TRUE X 1 ON CHECKED")
_NO = spellings("N NO F FALSE 0 OFF UNCHECKED")

_PROTECTS_OF = {
    **dict.fromkeys(
        spellings(
            "CONTAINMENT CONTAIN CONT C PREMISE PREMISES PREMISEISOLATION PREMISESISOLATION METER"
            " SERVICE SERVICEPROTECTION MAIN"
        ),
        Protects.CONTAINMENT,
    ),
    **dict.fromkeys(
        spellings(
            "ISOLATION ISOLATE ISO I INTERNAL INPLANT INPREMISES FIXTURE FIXTUREISOLATION"
            " POINTOFUSE INTERNALPROTECTION"
        ),
        Protects.ISOLATION,
    ),
}


def read_hazard(raw: str, *, header: str = "") -> Reading[Hazard]:
    """High, health, H; low, non-health, L; blank is not assessed.

    Anything else is not assessed as well and says so: treated as high, printed as not yet
    assessed. Under a header that asks for it ("Health hazard?") yes is high and no is low.
    """
    word = letters_of(clean(raw))
    if word in _HIGH:
        return Reading(Hazard.HIGH)
    if word in _LOW:
        return Reading(Hazard.LOW)
    if not clean(raw) or word in _NOT_ASSESSED - {""}:
        return Reading(Hazard.NOT_ASSESSED)
    asks = letters_of(header)
    answer = read_yes(raw)
    if answer is not None and ("HEALTH" in asks or "HIGH" in asks):
        return Reading(Hazard.HIGH if answer else Hazard.LOW)
    return Reading(
        Hazard.NOT_ASSESSED,
        f"The hazard {clean(raw)!r} is not understood; it is kept as not assessed and treated "
        "as high until somebody assesses it. Write high or low.",
    )


def read_service(raw: str) -> Reading[ServiceKind]:
    """Domestic, irrigation, fire, combined domestic and fire, reclaimed, auxiliary."""
    if is_none(raw):
        return Reading(ServiceKind.UNKNOWN)
    words = re.findall(r"[A-Z]+", clean(raw).upper())
    joined = _SERVICE_OF.get("".join(words))
    kinds = {joined} if joined else {_SERVICE_OF.get(word) for word in words} - {None}
    if words == ["WATER"]:
        kinds = {ServiceKind.DOMESTIC}
    elif "WATER" in words and len(kinds) > 1:
        kinds = {_SERVICE_OF.get(word) for word in words if word != "WATER"} - {None}
    strange = [w for w in words if w not in _SERVICE_OF.keys() | _SERVICE_SILENT | _COMBINED]
    if kinds == {ServiceKind.DOMESTIC, ServiceKind.FIRE} or (
        _COMBINED & set(words) and kinds <= {ServiceKind.DOMESTIC, ServiceKind.FIRE}
    ):
        return Reading(ServiceKind.COMBINED)
    if len(kinds) == 1 and not strange:
        return Reading(kinds.pop() or ServiceKind.UNKNOWN)
    return Reading(
        ServiceKind.UNKNOWN,
        f"The service {clean(raw)!r} is not understood and left empty; write domestic, "
        "irrigation, fire, combined domestic and fire, reclaimed or auxiliary.",
    )


def read_status(raw: str, *, header: str = "") -> Reading[StatedStatus | None]:
    """Active, inactive or removed; None where the cell is blank or not understood.

    Under a header that asks for it ("Removed?") yes is removed and no is active.
    """
    if is_none(raw):
        return Reading(None)
    asked, answer = _ASKED.get(letters_of(header)), read_yes(raw)
    if asked and answer is not None:
        return Reading(asked if answer else StatedStatus.ACTIVE)
    said = _STATUS_OF.get(letters_of(clean(raw)))
    if said:
        return Reading(said)
    return Reading(
        None,
        f"The status {clean(raw)!r} is not understood and changes nothing; "
        "write active, inactive or removed.",
    )


def read_result(raw: str) -> Reading[StatedResult | None]:
    """Pass or fail; None where the cell is blank or not understood."""
    if is_none(raw):
        return Reading(None)
    said = _RESULT_OF.get(letters_of(clean(raw)))
    if said:
        return Reading(said)
    return Reading(
        None,
        f"The result {clean(raw)!r} is not understood, so the last test is not recorded; "
        "write pass or fail.",
    )


def read_yes(raw: str) -> bool | None:
    """Yes or no as offices tick it; None where neither is said."""
    word = letters_of(clean(raw))
    if word in _YES:
        return True
    return False if word in _NO else None


def read_yes_or_no(raw: str) -> Reading[bool | None]:
    """Yes or no; None where the cell is blank, or not understood and said so."""
    if is_none(raw):
        return Reading(None)
    found = read_yes(raw)
    if found is not None:
        return Reading(found)
    return Reading(None, f"{clean(raw)!r} is not understood; write yes or no.")


MOST_DAYS = 365


def read_days(raw: str) -> Reading[int | None]:
    """A number of days; None where the cell is blank, or no such number and said so."""
    if is_none(raw):
        return Reading(None)
    said = clean(raw).lower().removesuffix("days").removesuffix("day").strip()
    if said.isascii() and said.isdigit() and int(said) <= MOST_DAYS:
        return Reading(int(said))
    return Reading(None, f"{clean(raw)!r} is no number of days; write a whole number as 3.")


def read_protects(raw: str) -> Reading[Protects | None]:
    """Containment protects the main, isolation a fixture; None where nothing is said."""
    if is_none(raw):
        return Reading(None)
    found = _PROTECTS_OF.get(letters_of(clean(raw)))
    if found:
        return Reading(found)
    return Reading(
        None,
        f"{clean(raw)!r} is not understood; write containment or isolation.",
    )
