"""Small spreadsheets, and short words for bringing them into a program."""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence
from datetime import UTC, date, datetime

from registry.load_reports import LoadReport
from registry.models import Assembly, Program
from registry.source_files import SourceFile
from scheduling.loading.openings import Wanted
from scheduling.loading.registry_load import load_registry
from scheduling.models import Fact

TODAY = date(2026, 11, 25)
NOW = datetime(2026, 11, 25, 20, 0, tzinfo=UTC)
CODE = "alder"

ROW = {
    "Acct": "1-1",
    "Customer": "Larkspur Bakery",
    "Svc Addr": "12 Larkspur Ln",
    "City": "Tamarack Flats",
    "ST": "WA",
    "Zip": "99171",
    "Hazard": "High",
    "Owner Name": "Ann Fennelgate",
    "Mailing Address": "PO Box 1",
    "Mail City": "Tamarack Flats",
    "Mail ST": "WA",
    "Mail Zip": "99171",
    "E-mail": "ann@example.org",
    "Type": "RP",
    "Make": "Northfork",
    "Model": "N1",
    "Serial": "A1",
    "Size": "3/4",
    "Location": "riser room",
    "Service": "Domestic",
    "Install Date": "3/1/2020",
    "Last Test": "5/10/2026",
    "Status": "Active",
    "Lat": "46.85",
    "Long": "-118.24",
    "Comments": "",
}


def row(**changes: str) -> dict[str, str]:
    """The good row with some cells changed; underscores stand for blanks in headers."""
    named = {name.replace("_", " "): value for name, value in changes.items()}
    return ROW | named


def sheet(*rows: dict[str, str], delimiter: str = ",") -> bytes:
    """The rows as a CSV file; the header is that of the first row."""
    out = io.StringIO()
    writer = csv.DictWriter(out, list(rows[0]), delimiter=delimiter, lineterminator="\r\n")
    writer.writeheader()
    writer.writerows(rows)
    return out.getvalue().encode()


def bring(
    *rows: dict[str, str], as_of: date | None = TODAY, dry_run: bool = False, code: str = CODE
) -> LoadReport:
    """Load rows into the program."""
    return bring_bytes(sheet(*rows), as_of=as_of, dry_run=dry_run, code=code)


def bring_bytes(
    data: bytes,
    *,
    as_of: date | None = TODAY,
    dry_run: bool = False,
    code: str = CODE,
    name: str = "registry.csv",
) -> LoadReport:
    """Load a file's bytes into the program."""
    return load_registry(
        source=SourceFile(name=name, data=data),
        wanted=Wanted(code=code, as_of=as_of),
        now=NOW,
        by="a test",
        dry_run=dry_run,
    )


def counts(report: LoadReport) -> tuple[int, int, int, int]:
    """Created, updated, unchanged, set aside; and their sum is the number of rows."""
    found = (report.created, report.updated, report.unchanged, report.set_aside)
    assert sum(found) == report.rows
    return found


def told(report: LoadReport) -> list[tuple[int, str | None]]:
    """Row and column of every warning."""
    return [(warning.row, warning.column) for warning in report.warnings]


def program(code: str = CODE) -> Program:
    """The program."""
    return Program.objects.get(code=code)


def only_assembly(serial: str = "A1") -> Assembly:
    """The assembly of a serial."""
    return Assembly.objects.select_related("premises", "connection").get(serial=serial)


def live_facts(serial: str = "A1") -> Sequence[tuple[str, date]]:
    """Kind and day of the facts of an assembly that are not withdrawn."""
    facts = Fact.objects.filter(assembly__serial=serial, withdrawn_at__isnull=True)
    return [(fact.kind, fact.on) for fact in facts.order_by("on", "pk")]
