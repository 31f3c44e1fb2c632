"""Which column of a test sheet holds what: the trade's headers, taken apart into words."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import TypeAlias

from registry.domain.headers import header_key
from reports.domain.readings import ReadingName


class ReportField(StrEnum):
    """What a report says besides its readings."""

    SERIAL = "serial"
    MAKER = "maker"
    TYPE = "type"
    TESTED_ON = "tested_on"
    TESTED_AT = "tested_at"
    CERTIFICATE = "certificate"
    TESTER_NAME = "tester_name"
    CERTIFICATE_ENDS_ON = "certificate_ends_on"
    GAUGE_SERIAL = "gauge_serial"
    GAUGE_CALIBRATED_ON = "gauge_calibrated_on"
    LINE_PRESSURE = "line_pressure"
    UNIT = "unit"
    REPAIRS = "repairs"
    DECLARED = "declared"
    REMARKS = "remarks"
    CAUSE = "cause"
    RELIEF_RUNNING = "relief_running"
    WAY_AROUND = "way_around"
    INSTALLED = "installed"
    OLD_SERIAL = "old_serial"
    PROPER = "proper"
    IMPROPER = "improper"
    SIGNED_BY = "signed_by"
    ATTESTED = "attested"
    RECEIVED_ON = "received_on"
    PREMISES = "premises"
    ADDRESS = "address"
    CITY = "city"
    MODEL = "model"
    SIZE = "size"
    LOCATION = "location"


_SYNONYMS: Mapping[ReportField, str] = {
    ReportField.SERIAL: "SERIAL SERIALNO SERIALNUMBER SERIALNUM SN ASSEMBLYSERIAL"
    " ASSEMBLYSERIALNUMBER DEVICESERIAL DEVICESERIALNUMBER BFPSERIAL BFPSERIALNO",
    ReportField.MAKER: "MAKE MAKER MANUFACTURER MFR MFG MANUF MAKEOFASSEMBLY BRAND",
    ReportField.TYPE: "BFPTYPE ASSEMBLYTYPE DEVICETYPE TYPEOFASSEMBLY TYPE",
    ReportField.TESTED_ON: "TESTDATE DATEOFTEST TESTEDON DATETESTED DATE TESTED",
    ReportField.TESTED_AT: "TIME TESTTIME TIMEOFTEST TESTEDAT",
    ReportField.CERTIFICATE: "TESTERCERT TESTERCERTIFICATE CERTIFICATE CERT CERTNO CERTIFICATENO"
    " CERTNUMBER CERTIFICATENUMBER TESTERCERTNO TESTERCERTIFICATENUMBER TESTERNO TESTERNUMBER"
    " TESTERID TESTERLICENSE LICENSENO CERTIFICATION CERTIFICATIONNO CERTIFICATIONNUMBER",
    ReportField.TESTER_NAME: "TESTER TESTERNAME NAMEOFTESTER TESTEDBY CERTIFIEDTESTER",
    ReportField.CERTIFICATE_ENDS_ON: "CERTEXPIRES CERTEXPIRY CERTIFICATEEXPIRES CERTIFICATEEXPIRY"
    " CERTEXP CERTEXPIRATION CERTIFICATEEXPIRATION CERTIFICATIONEXPIRES EXPIRES EXPIRATIONDATE"
    " CERTIFICATEEND CERTIFICATEENDS CERTIFICATEENDSON VALIDTO CERTVALIDTO TESTERCERTEXPIRES",
    ReportField.GAUGE_SERIAL: "GAUGESERIAL GAUGESERIALNO GAUGESERIALNUMBER GAUGENO GAUGENUMBER"
    " GAUGE GAUGEID GAUGESN TESTKIT TESTKITSERIAL TESTKITSERIALNO TESTKITNO KITSERIAL GAGESERIAL",
    ReportField.GAUGE_CALIBRATED_ON: "GAUGECALIBRATED GAUGECALIBRATION GAUGECALIBRATIONDATE"
    " CALIBRATED CALIBRATION CALIBRATIONDATE CALIBRATEDON GAUGECALIBRATEDON GAUGECALDATE CALDATE"
    " DATECALIBRATED TESTKITCALIBRATED TESTKITCALIBRATION GAUGECAL LASTCALIBRATED",
    ReportField.LINE_PRESSURE: "LINEPSI LINEPRESSURE LINEPRESSUREPSI INLETPRESSURE STATICPRESSURE"
    " SUPPLYPRESSURE PRESSURE WATERPRESSURE",
    ReportField.UNIT: "UNIT UNITS GAUGEUNIT GAUGEUNITS READINGUNIT",
    ReportField.REPAIRS: "REPAIR REPAIRS REPAIRSMADE REPAIRED REPAIRNOTES PARTSREPLACED"
    " REPAIRSANDPARTS REPAIRDETAILS WORKDONE",
    ReportField.DECLARED: "TESTRESULT FINALRESULT OVERALLRESULT DECLAREDRESULT PASSFAIL"
    " PASSORFAIL RESULT RESULTS DECLARED OUTCOME STATUS",
    ReportField.REMARKS: "REMARKS REMARK COMMENTS COMMENT NOTES NOTE TESTERREMARKS",
    ReportField.CAUSE: "COULDNOTBETESTED WHYNOTTESTED REASONNOTTESTED NOTTESTED",
    ReportField.RELIEF_RUNNING: "RELIEFVALVESEENRUNNING RELIEFVALVERUNNING RELIEFRUNNING RVRUNNING",
    ReportField.WAY_AROUND: "OPENWAYAROUNDIT OPENWAYAROUND WAYAROUND",
    ReportField.INSTALLED: "INSTALLED NEWEXISTINGREPLACEMENT NEWOREXISTING",
    ReportField.OLD_SERIAL: "OLDSERIAL OLDSERIALNO OLDSERIALNUMBER REPLACESSERIAL REPLACEDSERIAL",
    ReportField.PROPER: "PROPERLYINSTALLED PROPERINSTALLATION INSTALLATIONPROPER",
    ReportField.IMPROPER: "INSTALLATIONFAULTS INSTALLATIONFAULT",
    ReportField.SIGNED_BY: "SIGNEDBY SIGNATURE SIGNED TESTERSIGNATURE",
    ReportField.ATTESTED: "ATTESTED ATTESTATION",
    ReportField.RECEIVED_ON: "RECEIVEDON DATERECEIVED RECEIVED SUBMITTEDON DATESUBMITTED",
    ReportField.PREMISES: "PREMISES PREMISESNAME NAMEOFPREMISES FACILITY FACILITYNAME",
    ReportField.ADDRESS: "SERVICEADDRESS PREMISESADDRESS ADDRESS",
    ReportField.CITY: "CITY TOWN",
    ReportField.MODEL: "MODEL MODELNO MODELNUMBER",
    ReportField.SIZE: "SIZE SIZEIN SIZEINCHES",
    ReportField.LOCATION: "PLACEONSITE LOCATION LOCATIONONSITE",
}
_FIELD_OF = {word: field for field, words in _SYNONYMS.items() for word in words.split()}
_RANKS = {
    word: rank for words in _SYNONYMS.values() for rank, word in enumerate(words.split(), start=1)
}
"""Of two headers for one field the more telling one counts: "Test Date" before "Date"."""

_INITIAL = frozenset({"initial", "init", "found", "before"})
_FINAL = frozenset({"final", "fin", "after", "retest"})
_BYPASS = frozenset({"bypass", "byp"})
_SILENT_WORDS = (
    "as test reading readings repair valve at opened opens opening point psid psi kpa pressure"
    " differential diff dp no num number the of held value rp rpz dc pvb svb"
)
_SILENT = frozenset(_SILENT_WORDS.split())
_ORDINALS = {"1": 1, "1st": 1, "first": 1, "2": 2, "2nd": 2, "second": 2}
_TIGHT = frozenset({"tight", "closed", "holds", "holding"})
_CHECKS = frozenset({"ck", "cv", "chk", "check", "checkvalve"})
_FULL = frozenset({"full", "fully", "open"})
_MOVES = frozenset({"moved", "moves", "moving", "registers", "registered", "registering", "ok"})
_SHUT = frozenset({"sov", "so", "shutoff", "shut", "off"})


Meant: TypeAlias = ReportField | tuple[bool, ReadingName] | None
"""A field, or a reading with whether it is the final part's, or nothing known."""


@dataclass(frozen=True, kw_only=True)
class ReportColumns:
    """The file's header for each thing it says; `strange` are headers nobody recognised."""

    fields: Mapping[ReportField, str]
    initial: Mapping[ReadingName, str]
    final: Mapping[ReadingName, str]
    strange: tuple[str, ...]

    @property
    def twins(self) -> frozenset[ReadingName]:
        """Readings with a column of their own after repair; the others serve both parts."""
        return frozenset(self.final)


def recognise(headers: Sequence[str], *, saved: Mapping[str, str]) -> ReportColumns:
    """Sort the headers of a test sheet.

    `saved` is a program's own mapping, header keys to field names, blank to leave a column
    out; it overrides the trade's words. Field names are those of ReportField, and readings as
    "relief" or "final_relief". Of two headers for one thing the more telling
    counts, else the first.
    """
    found = {header: _meant(header, saved=saved) for header in headers}
    fields: dict[ReportField, str] = {}
    readings: dict[tuple[bool, ReadingName], str] = {}
    for header in sorted(headers, key=lambda name: _rank(name, saved=saved)):
        meant = found[header]
        if isinstance(meant, ReportField):
            fields.setdefault(meant, header)
        elif meant is not None:
            readings.setdefault(meant, header)
    taken = {*fields.values(), *readings.values()}
    return ReportColumns(
        fields=fields,
        initial={name: header for (final, name), header in readings.items() if not final},
        final={name: header for (final, name), header in readings.items() if final},
        strange=tuple(header for header in headers if header not in taken),
    )


def _rank(header: str, *, saved: Mapping[str, str]) -> int:
    key = header_key(header)
    return 0 if key in saved else _RANKS.get(key, 1)


def _meant(header: str, *, saved: Mapping[str, str]) -> Meant:
    letters = header_key(header)
    if letters in saved:
        return _named(saved[letters])
    return _FIELD_OF.get(letters) or _named(header) or reading_meant(header)


def _named(name: str) -> Meant:
    plain = "_".join(name.casefold().split())
    if plain in set(ReportField):
        return ReportField(plain)
    is_final = plain.startswith("final_")
    reading = plain.removeprefix("final_").removeprefix("initial_")
    return (is_final, ReadingName(reading)) if reading in set(ReadingName) else None


def reading_meant(header: str) -> tuple[bool, ReadingName] | None:
    """Whether a header names a reading, and whether that of the final part.

    "Initial CK1" is check1 as found, "Final CK2 Tight" check2_tight after repair, "Bypass RV"
    bypass_relief as found. A header with a word that says something else is none.
    """
    words = re.findall(r"1st|2nd|[a-z]+|[0-9]+", header.casefold())
    left = [word for word in words if word not in _INITIAL | _FINAL | _BYPASS]
    is_final = any(word in _FINAL for word in words)
    name = _reading(set(left) - _SILENT if len(left) > 1 else set(left))
    if name is None:
        return None
    if any(word in _BYPASS for word in words) and name is not ReadingName.METER_MOVED:
        bypass = f"bypass_{name}"
        return (is_final, ReadingName(bypass)) if bypass in set(ReadingName) else None
    return is_final, name


def _reading(words: set[str]) -> ReadingName | None:
    numbers = {_ORDINALS[word] for word in words if word in _ORDINALS}
    rest = words - set(_ORDINALS)
    if rest in ({"rv"}, {"relief"}, {"rv", "relief"}, {"rv", "open"}, {"relief", "open"}):
        return ReadingName.RELIEF if not numbers else None
    if rest & {"ai", "inlet"} and not numbers:
        return _air_inlet(rest - {"ai", "air", "inlet"})
    if "meter" in rest and not numbers:
        return ReadingName.METER_MOVED if rest - {"meter"} <= _MOVES and len(rest) > 1 else None
    if rest & (_SHUT - {"off"}) and len(numbers) == 1:
        valve = ReadingName.SHUTOFF1_TIGHT if numbers == {1} else ReadingName.SHUTOFF2_TIGHT
        return valve if rest - _SHUT <= _TIGHT else None
    if rest & _CHECKS and rest - _CHECKS <= _TIGHT and len(numbers) <= 1:
        return _check(numbers, tight=bool(rest & _TIGHT))
    return None


def _air_inlet(rest: set[str]) -> ReadingName | None:
    if rest & {"full", "fully"} and rest <= _FULL:
        return ReadingName.AIR_INLET_FULL
    return ReadingName.AIR_INLET if rest <= {"open"} else None


def _check(numbers: set[int], *, tight: bool) -> ReadingName | None:
    if not numbers:
        return None if tight else ReadingName.CHECK
    base = f"check{numbers.pop()}"
    return ReadingName(f"{base}_tight" if tight else base)
