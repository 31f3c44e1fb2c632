"""Recording very many notices, beside one INSERT … SELECT of as many rows of the same table.

Run with a database of its own: `DATABASE_URL=… python -m tests.bench.noting 30000`.
"""

from __future__ import annotations

import json
import os
import resource
import statistics
import sys
from dataclasses import asdict
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal

import django

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings")
django.setup()

from django.db import connection, transaction  # noqa: E402  (needs the settings)

from notices.actions.clocks import admit  # noqa: E402
from notices.actions.noting import note_owed  # noqa: E402
from notices.models import Notice  # noqa: E402
from registry.models import Assembly, Premises, ServiceConnection  # noqa: E402
from scheduling.actions.facts import NewFact, record_facts  # noqa: E402
from scheduling.actions.opening import open_obligations  # noqa: E402
from scheduling.actions.replaying import replay_assemblies  # noqa: E402
from scheduling.domain.facts import FactKind  # noqa: E402
from tests.bench.million.timing import Row, rolled_back  # noqa: E402
from tests.notices.offices import AT, START, office  # noqa: E402

REACH = 5
TIMES = 3


def main() -> None:
    """Measure, and print one row as JSON."""
    row = notices(int(sys.argv[1]))
    memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    sys.stdout.write(json.dumps({"rows": [asdict(row)], "megabytes": memory}) + "\n")


def notices(number: int) -> Row:
    """Record the notices of so many overdue assemblies of a program."""
    program = office("bench")
    _fill(program.pk, number)
    replay_assemblies(program=program, assembly_ids=None, as_of=START, at=AT)
    with transaction.atomic():
        open_obligations(program=program, as_of=START)
    day = admit(program, day=START, now=datetime(2027, 6, 1, tzinfo=UTC))
    recorded: list[int] = []
    took = statistics.median(
        rolled_back(lambda: recorded.append(note_owed(day))) for _ in range(TIMES)
    )
    note_owed(day)
    assert recorded == [number] * TIMES == [Notice.objects.count()] * TIMES, recorded
    limit = statistics.median(rolled_back(_plain) for _ in range(TIMES))
    return Row(
        name=f"{number:,} notices recorded", seconds=took, limit=limit, reach=REACH,
        note="beside one INSERT … SELECT of as many rows",
    )  # fmt: skip


def _fill(program_id: int, number: int) -> None:
    """Write premises with one overdue assembly each, last tested on one of 400 days."""
    places = Premises.objects.bulk_create(
        (
            Premises(program_id=program_id, account=f"{n}", address=f"{n} Larch Court", key=f"{n}")
            for n in range(number)
        ),
        batch_size=500,
    )
    lines = ServiceConnection.objects.bulk_create(
        (ServiceConnection(premises=place, kind="domestic") for place in places), batch_size=500
    )
    made = Assembly.objects.bulk_create(
        (
            Assembly(
                program_id=program_id, premises=line.premises, connection=line, type="DC",
                serial=f"S{n}", serial_key=f"S{n}", size_in=Decimal("0.75"), hazard="low",
                created_at=AT,
            )
            for n, line in enumerate(lines)
        ),
        batch_size=500,
    )  # fmt: skip
    passed = date(2023, 1, 2)
    facts = [
        NewFact(
            assembly_id=one.pk, kind=FactKind.PASSED, on=passed + timedelta(days=n % 400),
            source="person",
        )
        for n, one in enumerate(made)
    ]  # fmt: skip
    record_facts(program=lines[0].premises.program, facts=facts, recorded_at=AT, by="bench")


def _plain() -> None:
    """Insert as many rows of the same table, taken from those recorded, under other keys."""
    columns = [str(f.column) for f in Notice._meta.concrete_fields if not f.primary_key]
    taken = ["'again:' || matter_key" if name == "matter_key" else name for name in columns]
    table = Notice._meta.db_table
    with connection.cursor() as cursor:
        cursor.execute(
            f"INSERT INTO {table} ({', '.join(columns)}) SELECT {', '.join(taken)} FROM {table}"
        )


if __name__ == "__main__":
    main()
