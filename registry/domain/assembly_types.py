"""What offices write for the type of an assembly, read as one of the trade's types.

Every spelling is taken apart into words; an abbreviation stands for the words it abbreviates.
The words of all parts together must name exactly one type: "RP - Reduced Pressure" does,
"DC/RP" does not. Standards by number: ASSE 1013, 1015, 1020, 1047, 1048, 1056, 1001.
"""

import re

from registry.domain.cells import UnreadableCellError, clean, is_none, spellings
from registry.domain.kinds import AssemblyType

_REDUCED = frozenset({"REDUCED", "PRESSURE"})
_DOUBLE = frozenset({"DOUBLE", "CHECK"})
_PRESSURE_BREAKER = frozenset({"PRESSURE", "VACUUM", "BREAKER"})
_SPILL_BREAKER = frozenset({"SPILL", "RESISTANT", "VACUUM", "BREAKER"})
_ATMOSPHERIC_BREAKER = frozenset({"ATMOSPHERIC", "VACUUM", "BREAKER"})
_GAP = frozenset({"AIR", "GAP"})
_DETECTOR = frozenset({"DETECTOR"})
_SECOND = frozenset({"II"})

_NAMED = {
    _REDUCED: AssemblyType.RP,
    _DOUBLE: AssemblyType.DC,
    _REDUCED | _DETECTOR: AssemblyType.RPDA,
    _REDUCED | _DETECTOR | {"CHECK"}: AssemblyType.RPDA,
    _DOUBLE | _DETECTOR: AssemblyType.DCDA,
    _REDUCED | _DETECTOR | _SECOND: AssemblyType.RPDA_II,
    _REDUCED | _DETECTOR | _SECOND | {"CHECK"}: AssemblyType.RPDA_II,
    _DOUBLE | _DETECTOR | _SECOND: AssemblyType.DCDA_II,
    _PRESSURE_BREAKER: AssemblyType.PVB,
    _SPILL_BREAKER: AssemblyType.SVB,
    _SPILL_BREAKER | {"PRESSURE"}: AssemblyType.SVB,
    frozenset({"SPILL", "RESISTANT"}): AssemblyType.SVB,
    _ATMOSPHERIC_BREAKER: AssemblyType.AVB,
    _GAP: AssemblyType.AG,
}

_ABBREVIATED = {
    _REDUCED: "RP RPZ RPZA RPZD RPBA RPA RPPA RPP RPBP RPPBA RPPBP RPBFP RPZBFP RPPZ 1013",
    _DOUBLE: "DC DCV DCA DCVA DCBA DCCA DCCV DCCVA DCAP DCBP DCBFP DCVBA DCVBP 1015",
    _REDUCED | _DETECTOR: "RPDA RPZDA RPDC RPDCA RPDBA RPDV RPPDA RPDCVA RPBDA 1047",
    _DOUBLE | _DETECTOR: "DCDA DCVDA DDC DDCA DDCV DDCVA DCDC DCDCA DCDV DCDVA DCDBA 1048",
    _REDUCED | _DETECTOR | _SECOND: "RPDAII RPDA2 RPDAT2",
    _DOUBLE | _DETECTOR | _SECOND: "DCDAII DCDA2 DCDAT2",
    _PRESSURE_BREAKER: "PVB PVBA PVBBA 1020",
    _SPILL_BREAKER: "SVB SVBA SPVB SPVBA SRPVB SRPVBA SRVB SRVBA SRPV 1056",
    _ATMOSPHERIC_BREAKER: "AVB AVBA 1001",
    _GAP: "AG AGS AGA AIRGAP",
    frozenset({"VACUUM", "BREAKER"}): "VB",
}
_WORDS_OF = {code: words for words, codes in _ABBREVIATED.items() for code in codes.split()}

_WORDS = {
    **{word: word for words in _NAMED for word in words},
    **dict.fromkeys(("RED", "REDUCE", "RDCD"), "REDUCED"),
    **dict.fromkeys(("PRESS", "PRES", "PRESURE", "PRSR"), "PRESSURE"),
    **dict.fromkeys(("DBL", "DOUB", "DOUBLECHECK"), "DOUBLE"),
    **dict.fromkeys(("CHK", "CK", "CHECKS"), "CHECK"),
    **dict.fromkeys(("DET", "DETECT", "DETECTORS"), "DETECTOR"),
    **dict.fromkeys(("VAC", "VACUM", "VACCUM", "VACCUUM"), "VACUUM"),
    **dict.fromkeys(("BRKR", "BREAK", "BKR", "BRK"), "BREAKER"),
    **dict.fromkeys(("ATM", "ATMOS"), "ATMOSPHERIC"),
    **dict.fromkeys(("RESIST", "RES"), "RESISTANT"),
    "2": "II",
}
_SILENT = spellings(
    "ASSEMBLY ASSEMBLIES ASSY ASSM ASMBLY ASSEM ASSE DEVICE BACKFLOW PREVENTER PREVENTOR PREVENTION"
    " BFP BF BP VALVE VALVES PRINCIPLE PRINCIPAL PRIN PRINC ZONE TYPE UNIT SEPARATION"
)
_SAID_APART = {
    "DUAL": "A dual check (ASSE 1024) is no testable assembly; write the type of an assembly.",
    "SINGLE": "A single check is no backflow assembly; write the type of an assembly.",
}
_KNOWN = "RP, DC, RPDA, DCDA, RPDA-II, DCDA-II, PVB, SVB, AVB or AG"


def read_type(raw: str) -> AssemblyType:
    """The type a cell names: `RPZ`, `RPBA`, `Reduced Pressure` are RP, `SRPVB` is SVB.

    Raises UnreadableCellError when it names none, or more than one.
    """
    if is_none(raw):
        raise UnreadableCellError(f"The type is missing; write {_KNOWN}.")
    parts = _parts(clean(raw))
    found = _NAMED.get(_words(parts)) or _NAMED.get(_joined(parts))
    if found:
        return found
    for word, told in _SAID_APART.items():
        if word in parts:
            raise UnreadableCellError(told)
    raise UnreadableCellError(f"{clean(raw)!r} is not understood as a type; write {_KNOWN}.")


def _parts(text: str) -> list[str]:
    undotted = re.sub(r"(?<=\b\w)\.(?=\w\b)", "", text.upper())
    return re.findall(r"[A-Z0-9]+", undotted)


def _joined(parts: list[str]) -> frozenset[str]:
    """Words of an abbreviation written in pieces (DC-VA); of two whole ones nothing is made."""
    whole = sum(part in _WORDS_OF for part in parts)
    return _WORDS_OF.get("".join(parts), frozenset()) if whole < 2 else frozenset()


def _words(parts: list[str]) -> frozenset[str]:
    words: set[str] = set()
    for part in parts:
        if part in _SILENT:
            continue
        if part == "DOUBLECHECK":
            words |= _DOUBLE
        elif part in _WORDS_OF:
            words |= _WORDS_OF[part]
        else:
            words.add(_WORDS.get(part, f"?{part}"))
    return frozenset(words)
