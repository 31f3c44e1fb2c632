"""What the short names of types mean, for a reader who is no tester.

Names as the trade's standards have them: ASSE 1013 (RP), 1015 (DC), 1020 (PVB), 1047 (RPDA),
1048 (DCDA), 1056 (SVB), ASME A112.1.2 (air gap).
"""

from __future__ import annotations

from collections.abc import Iterable

from notices.domain.briefs import Words
from notices.domain.wording import N_

NAMES = {
    "RP": N_("reduced pressure principle assembly"),
    "DC": N_("double check valve assembly"),
    "RPDA": N_("reduced pressure detector assembly"),
    "DCDA": N_("double check detector assembly"),
    "RPDA-II": N_("reduced pressure detector assembly, type II"),
    "DCDA-II": N_("double check detector assembly, type II"),
    "PVB": N_("pressure vacuum breaker"),
    "SVB": N_("spill-resistant vacuum breaker"),
    "AVB": N_("atmospheric vacuum breaker"),
    "AG": N_("air gap"),
}


def names_told(types: Iterable[str], *, words: Words) -> str:
    """Say what each short name stands for, each once: `RP: reduced pressure principle assembly.`"""
    told = dict.fromkeys(one for one in types if one in NAMES)
    return " ".join(f"{one}: {words.gettext(NAMES[one])}." for one in told)
