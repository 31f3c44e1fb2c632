"""What one row of a testers' list states: a certificate's term, a gauge, a calibration."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import date

from registry.domain.cells import Fault, UnreadableCellError, clean, is_none
from registry.domain.emails import LONGEST as LONGEST_EMAIL
from registry.domain.emails import read_email
from registry.domain.fields import TesterField as T
from registry.domain.formula_guard import unguarded
from registry.domain.headers import ColumnMap
from registry.domain.kinds import DateOrder
from registry.domain.written_dates import read_date, read_past_date

LONGEST = {
    T.CERTIFICATE: 60,
    T.NAME: 200,
    T.FIRM: 200,
    T.ISSUED_BY: 120,
    T.GAUGE_SERIAL: 60,
    T.CLASSES: 120,
    T.FIRM_ADDRESS: 300,
    T.FIRM_CITY: 120,
    T.FIRM_STATE: 40,
    T.FIRM_ZIP: 20,
    T.FIRM_PHONE: 60,
    T.FIRM_EMAIL: LONGEST_EMAIL,
}
WHERE = {
    T.FIRM_ADDRESS: "address",
    T.FIRM_CITY: "city",
    T.FIRM_STATE: "state",
    T.FIRM_ZIP: "zip",
    T.FIRM_PHONE: "phone",
    T.FIRM_EMAIL: "email",
}
"""Where a testing company is reached, as its row names it."""


@dataclass(frozen=True, kw_only=True)
class StatedTester:
    """One row as read. With any fault it is set aside, whole; warnings let it land."""

    row: int
    cells: tuple[str, ...]
    certificate: str = ""
    name: str = ""
    firm: str = ""
    issued_by: str = ""
    valid_from: date | None = None
    valid_to: date | None = None
    gauge_serial: str = ""
    gauge_calibrated_on: date | None = None
    classes: str = ""
    reached: Mapping[str, str] = field(default_factory=dict)
    faults: tuple[Fault, ...] = ()
    warnings: tuple[Fault, ...] = ()


def read_tester_row(
    *, row: int, cells: Mapping[str, str], columns: ColumnMap, order: DateOrder, as_of: date
) -> StatedTester:
    """Read one record. Without a certificate or the two days of its term it is set aside.

    So is a term that ends before it begins, a calibration after `as_of`, and a date that is no
    date. A blank testing company is the tester's own name, and says so.
    """
    reader = _Reader(row=row, cells=cells, columns=columns)
    texts = {name: reader.text(name) for name in LONGEST}
    valid_from = reader.day(T.VALID_FROM, lambda raw: read_date(raw, order=order, as_of=as_of))
    valid_to = reader.day(T.VALID_TO, lambda raw: read_date(raw, order=order, as_of=as_of))
    calibrated_on = reader.day(
        T.GAUGE_CALIBRATED_ON, lambda raw: read_past_date(raw, order=order, as_of=as_of)
    )
    firm = texts[T.FIRM] or texts[T.NAME]
    reader.check(texts=texts, firm=firm, term=(valid_from, valid_to), calibrated_on=calibrated_on)
    return StatedTester(
        row=row,
        cells=tuple(cells.values()),
        certificate=texts[T.CERTIFICATE],
        name=texts[T.NAME],
        firm=firm,
        issued_by=texts[T.ISSUED_BY],
        valid_from=valid_from,
        valid_to=valid_to,
        gauge_serial=texts[T.GAUGE_SERIAL],
        gauge_calibrated_on=calibrated_on,
        classes=texts[T.CLASSES],
        reached=reader.reached(texts),
        faults=tuple(reader.faults),
        warnings=tuple(reader.warnings),
    )


class _Reader:
    """The cells of one record by field, with what is found on the way."""

    def __init__(self, *, row: int, cells: Mapping[str, str], columns: ColumnMap) -> None:
        self.row, self.cells, self.columns = row, cells, columns
        self.faults: list[Fault] = []
        self.warnings: list[Fault] = []

    def plain(self, name: T) -> str:
        header = self.columns.header_of(name)
        return unguarded(self.cells[header]) if header is not None else ""

    def text(self, name: T) -> str:
        said = "" if is_none(self.plain(name)) else clean(self.plain(name))
        if len(said) > LONGEST[name]:
            fits = LONGEST[name]
            self.fault(name, f"The cell holds {len(said)} characters and {fits} fit; shorten it.")
        return said[: LONGEST[name]]

    def reached(self, texts: Mapping[T, str]) -> dict[str, str]:
        """Where the row says the company is reached; an e-mail address that is none is left out."""
        email = read_email(texts[T.FIRM_EMAIL])
        if email.warning:
            self.warn(T.FIRM_EMAIL, email.warning)
        said = {name: texts[column] for column, name in WHERE.items()} | {"email": email.value}
        return {name: text for name, text in said.items() if text}

    def day(self, name: T, reader: Callable[[str], date | None]) -> date | None:
        try:
            return reader(self.plain(name))
        except UnreadableCellError as error:
            self.fault(name, str(error))
            return None

    def check(
        self,
        *,
        texts: Mapping[T, str],
        firm: str,
        term: tuple[date | None, date | None],
        calibrated_on: date | None,
    ) -> None:
        """What the cells of the row say against each other."""
        valid_from, valid_to = term
        if not texts[T.CERTIFICATE]:
            self.fault(T.CERTIFICATE, "The certificate is missing; write its number.")
        if not firm:
            self.fault(T.FIRM, "The testing company is missing; write its name.")
        elif not texts[T.FIRM]:
            self.warn(T.FIRM, "No testing company; the tester's own name stands for it.")
        for name, day in ((T.VALID_FROM, valid_from), (T.VALID_TO, valid_to)):
            if day is None and not any(f.column == self.at(name, "").column for f in self.faults):
                self.fault(name, "The day is missing; write the first and last day of the term.")
        if valid_from and valid_to and valid_to < valid_from:
            self.fault(T.VALID_TO, f"The certificate ends before it begins on {valid_from}.")
        if texts[T.GAUGE_SERIAL] and not calibrated_on:
            self.warn(T.GAUGE_CALIBRATED_ON, "No calibration on record; write its day.")
        if calibrated_on and not texts[T.GAUGE_SERIAL]:
            self.warn(
                T.GAUGE_SERIAL, "A calibration without a gauge is not kept; write its serial."
            )

    def fault(self, name: T, message: str) -> None:
        self.faults.append(self.at(name, message))

    def warn(self, name: T, message: str) -> None:
        self.warnings.append(self.at(name, message))

    def at(self, name: T, message: str) -> Fault:
        header = self.columns.header_of(name)
        value = None if header is None else self.cells[header]
        return Fault(row=self.row, column=header, value=value, message=message)
