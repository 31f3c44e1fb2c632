"""One row of an office's past: a test, a letter that left, or an extension, as stated."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from notices.domain.past_rungs import rungs_meant
from registry.domain.cells import Fault, UnreadableCellError, clean, is_none, letters_of, spellings
from registry.domain.formula_guard import unguarded
from registry.domain.header_synonyms import spelling_key
from registry.domain.headers import ColumnMap
from registry.domain.kinds import DateOrder
from registry.domain.words import StatedResult, read_result
from registry.domain.written_dates import read_date, read_past_date
from scheduling.domain.ladders import Ladder


class PastField(StrEnum):
    """What a column of an office's past can hold."""

    SERIAL = "serial"
    MAKER = "maker"
    WHAT = "what"
    ON = "on"
    RUNG = "rung"
    RESULT = "result"
    UNTIL = "until"
    REASON = "reason"


class PastKind(StrEnum):
    """What happened."""

    PASSED = "passed"
    FAILED = "failed"
    EXTENDED = "extended"
    LETTER = "letter"


P = PastField
_HEADERS: Mapping[PastField, str] = {
    P.SERIAL: "serial|serial number|serial no|serial #|s/n|sn|assembly serial|device serial|"
    "bfp serial|assembly|assembly serial number|device serial number",
    P.MAKER: "maker|make|manufacturer|mfr|mfg|manuf|brand|assembly make",
    P.WHAT: "what|event|activity|action|type of event|event type|entry|entry type|record type|"
    "history|what happened|kind|type|item",
    P.ON: "on|date|day|event date|activity date|date of event|date sent|sent on|sent|mailed on|"
    "date mailed|mail date|mailed|letter date|notice date|test date|date tested|tested on|"
    "date of test|action date|entry date|left on",
    P.RUNG: "rung|letter|letter type|letter kind|letter name|notice|notice type|notice kind|"
    "kind of letter|type of letter|which letter|letter sent|notice sent|notice name|template",
    P.RESULT: "result|test result|outcome|pass/fail|p/f|results|passed/failed",
    P.UNTIL: "until|extended until|extended to|extension until|extension to|new due date|new due|"
    "extension date|extension ends|good until",
    P.REASON: "reason|why|note|notes|comment|comments|remarks|extension reason|granted because",
}
PAST_HEADERS: Mapping[str, tuple[str, int]] = {
    spelling_key(spelling): (field.value, rank)
    for field, said in reversed(list(_HEADERS.items()))
    for rank, spelling in enumerate(said.split("|"))
}

_TESTS = spellings("TEST TESTED FIELDTEST ANNUALTEST BACKFLOWTEST TESTREPORT T")
_EXTENSIONS = spellings("EXTENSION EXTENDED EXTENSIONGRANTED EXTEND EXT DUEDATEEXTENDED MORETIME")
_LETTERS = spellings(
    "LETTER NOTICE MAILED SENT LETTERSENT NOTICESENT LETTERMAILED NOTICEMAILED CORRESPONDENCE L N"
)
_RESULTS = {
    PastKind.PASSED: "PASSED PASS TESTPASSED PASSEDTEST TESTPASS PASSINGTEST P",
    PastKind.FAILED: "FAILED FAIL TESTFAILED FAILEDTEST TESTFAIL FAILINGTEST F",
}
_RESULT_OF = {word: kind for kind, words in _RESULTS.items() for word in spellings(words)}
LONGEST = {P.SERIAL: 120, P.MAKER: 120, P.REASON: 500}


@dataclass(frozen=True, kw_only=True)
class StatedPast:
    """One row as read. With any fault it is set aside; `rungs` are what a letter can mean."""

    row: int
    cells: tuple[str, ...]
    serial: str = ""
    maker: str = ""
    kind: PastKind | None = None
    on: date | None = None
    rungs: tuple[str, ...] = ()
    until: date | None = None
    reason: str = ""
    faults: tuple[Fault, ...] = ()


def read_past_row(
    *,
    row: int,
    cells: Mapping[str, str],
    columns: ColumnMap,
    order: DateOrder,
    as_of: date,
    ladder: Ladder,
) -> StatedPast:
    """Read one record. Without a serial, a known event and a day by `as_of` it is set aside.

    A letter names its rung in its own column or as the event itself, in the rulebook's words or
    the trade's; an extension needs the day it goes to.
    """
    reader = _Reader(row=row, cells=cells, columns=columns)
    kind, rungs = reader.event(ladder=ladder)
    on = reader.day(P.ON, order=order, as_of=as_of, is_past=True)
    until = reader.day(P.UNTIL, order=order, as_of=as_of, is_past=False)
    if kind is PastKind.EXTENDED and on is not None and (until is None or until <= on):
        reader.fault(P.UNTIL, "An extension goes to a day after the day it was granted; write it.")
    return StatedPast(
        row=row,
        cells=tuple(cells.values()),
        serial=reader.needed(P.SERIAL, "A serial is needed; write that of the assembly."),
        maker=reader.text(P.MAKER),
        kind=kind,
        on=on,
        rungs=rungs,
        until=until if kind is PastKind.EXTENDED else None,
        reason=reader.text(P.REASON),
        faults=tuple(reader.faults),
    )


class _Reader:
    """The cells of one record, collecting what is wrong with them."""

    def __init__(self, *, row: int, cells: Mapping[str, str], columns: ColumnMap) -> None:
        self.row, self.cells, self.columns = row, cells, columns
        self.faults: list[Fault] = []

    def raw(self, name: PastField) -> str:
        header = self.columns.header_of(name)
        return "" if header is None else unguarded(self.cells[header])

    def fault(self, name: PastField, message: str) -> None:
        header = self.columns.header_of(name)
        value = None if header is None else self.cells[header]
        self.faults.append(Fault(row=self.row, column=header, value=value, message=message))

    def text(self, name: PastField) -> str:
        said = "" if is_none(self.raw(name)) else clean(self.raw(name))
        longest = LONGEST[name]
        if len(said) > longest:
            self.fault(name, f"The cell holds {len(said)} characters and {longest} fit.")
        return said[:longest]

    def needed(self, name: PastField, message: str) -> str:
        said = self.text(name)
        if not said:
            self.fault(name, message)
        return said

    def day(self, name: PastField, *, order: DateOrder, as_of: date, is_past: bool) -> date | None:
        reader = read_past_date if is_past else read_date
        try:
            found = reader(self.raw(name), order=order, as_of=as_of)
        except UnreadableCellError as error:
            self.fault(name, str(error))
            return None
        if found is None and is_past:
            self.fault(name, "A day is needed; write it as 2025-03-14.")
        return found

    def event(self, *, ladder: Ladder) -> tuple[PastKind | None, tuple[str, ...]]:
        """What happened, and for a letter which rungs it can be."""
        said, named = self.raw(P.WHAT), self.raw(P.RUNG)
        word = letters_of(said)
        if word in _TESTS or (not word and not is_none(self.raw(P.RESULT)) and is_none(named)):
            return self._tested(), ()
        if word in _RESULT_OF:
            return _RESULT_OF[word], ()
        if word in _EXTENSIONS:
            return PastKind.EXTENDED, ()
        where = P.RUNG if word in _LETTERS or is_none(said) else P.WHAT
        rungs = rungs_meant(self.raw(where), ladder=ladder)
        if not rungs:
            self.fault(where, _unknown(self.raw(where), where=where, ladder=ladder))
            return None, ()
        return PastKind.LETTER, rungs

    def _tested(self) -> PastKind | None:
        result = read_result(self.raw(P.RESULT)).value
        if result is None:
            self.fault(P.RESULT, "A test passed or failed; write which.")
            return None
        return PastKind.PASSED if result is StatedResult.PASS else PastKind.FAILED


def _unknown(said: str, *, where: PastField, ladder: Ladder) -> str:
    keys = ", ".join(rung.key for rung in ladder.rungs)
    if where is PastField.RUNG:
        return f"{clean(said)!r} is no letter of the rulebook in force; write one of {keys}."
    return (
        f"{clean(said)!r} is not known: write passed, failed, extended, letter, or one of {keys}."
    )
