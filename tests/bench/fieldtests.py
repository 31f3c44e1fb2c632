"""Ten thousand field tests brought in, beside a bare judging loop and plain inserts of the rows.

Run with a database of its own: `DATABASE_URL=… python -m tests.bench.fieldtests 10000`.
"""

from __future__ import annotations

import csv
import io
import json
import os
import resource
import statistics
import sys
import time
from collections.abc import Sequence
from contextlib import suppress
from dataclasses import asdict
from datetime import timedelta
from random import Random

import django

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings")
django.setup()

from django.core.management import call_command  # noqa: E402  (needs the settings)
from django.db import transaction  # noqa: E402

from config.demo import district  # noqa: E402
from registry.changes import Hand  # noqa: E402
from registry.models import Program  # noqa: E402
from registry.sheets import Sheet, parse_sheet  # noqa: E402
from reports.actions.fieldtests import LoadedFile, LoadedTests, load_field_tests  # noqa: E402
from reports.domain.assessing import Assessed  # noqa: E402
from reports.domain.two_parts import judge_parts  # noqa: E402
from reports.models import FieldTest  # noqa: E402
from tests.bench.million.filling import LATER  # noqa: E402
from tests.bench.million.timing import Row, timed  # noqa: E402

REACH = 6
BATCH = 1_000


def main() -> None:
    """Measure, and print one row as JSON."""
    row = field_tests(int(sys.argv[1]))
    memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    sys.stdout.write(json.dumps({"rows": [asdict(row)], "megabytes": memory}) + "\n")


def field_tests(number: int) -> Row:
    """Bring in so many reports on the demo's assemblies, days apart and all their own."""
    told = {"program": district.CODE, "as_of": district.AS_OF, "stdout": io.StringIO(),
            "stderr": io.StringIO()}  # fmt: skip
    for command, file in (("load_registry", district.REGISTRY), ("load_testers", district.TESTERS)):
        with suppress(SystemExit):  # a command that set rows aside ends with 1
            call_command(command, str(file), **told)
    program = Program.objects.get(code=district.CODE)
    sheet = sheet_of(number)
    started = time.perf_counter()
    loaded = _loaded(sheet, program=program)
    took = time.perf_counter() - started
    limit = statistics.median(_bare(loaded.assessed) for _ in range(3))
    note = f"{loaded.stored:,} stored"
    return Row(name=f"{number:,} field tests", seconds=took, limit=limit, reach=REACH, note=note)


def sheet_of(number: int) -> Sheet:
    """Return a sheet of the demo's reports, repeated on other days."""
    with district.TESTS.open(encoding="utf-8", newline="") as file:
        known = list(csv.DictReader(file))
    draw, written = Random(7), io.StringIO()
    writer = csv.DictWriter(written, fieldnames=list(known[0]))
    writer.writeheader()
    for place in range(number):
        day = district.AS_OF - timedelta(days=draw.randint(1, 3000))
        row = {**known[place % len(known)], "Test Date": day.isoformat(), "Remarks": f"R{place}"}
        writer.writerow(row)
    return parse_sheet(data=written.getvalue().encode(), name="tests.csv")


def _loaded(sheet: Sheet, *, program: Program) -> LoadedTests:
    return load_field_tests(
        program=program,
        sheet=sheet,
        file=LoadedFile(name="tests.csv", sha256="0" * 64),
        method=None,
        as_of=district.AS_OF,
        hand=Hand(by="bench", at=LATER),
    )


def _bare(assessed: Sequence[Assessed]) -> float:
    """Judge each report and insert its row, and nothing else."""
    rows = list(FieldTest.objects.all())
    for row in rows:
        row.pk, row.digest = None, row.digest[::-1]

    def work() -> None:
        for one in assessed:
            if one.assembly is None:
                continue
            judge_parts(
                one.limits,
                assembly_type=one.assembly.type,
                unit=one.report.unit,
                initial=one.report.initial,
                final=one.report.final,
                twins=one.twins,
                repaired=bool(one.report.repairs),
            )
        FieldTest.objects.bulk_create(rows, batch_size=BATCH)

    with transaction.atomic():
        took = timed(work)
        transaction.set_rollback(True)
    return took


if __name__ == "__main__":
    main()
