"""The day's run killed at random moments, and two runs at once: the letters come out the same."""

from __future__ import annotations

import hashlib
import json
import random
import subprocess
import time
from pathlib import Path
from typing import Any

import pytest

from tests.own_database import run_manage, start_manage

COUNT = 60
DAY = "2026-01-05"

SNAPSHOT = """
import json
from notices.models import Letter, LetterNotice, Notice
from scheduling.models import Obligation
links = LetterNotice.objects.select_related("letter", "notice__obligation__assembly")
print(json.dumps({
    "letters": sorted(
        [x.number, x.kind, x.state, str(x.left_on), x.short_code, x.token_hash, x.file.sha256]
        for x in Letter.objects.select_related("file")
    ),
    "notices": sorted(
        [x.notice.obligation.assembly.serial, x.notice.rung, x.notice.occurrence,
         str(x.notice.left_on), x.letter.number]
        for x in links
    ),
    "count": Notice.objects.count(),
    "next": sorted([x.pk, str(x.opened_on), str(x.next_action_on)]
                   for x in Obligation.objects.all()),
}))
"""


def fill(database: str, count: int = COUNT) -> None:
    code = f"from tests.notices.offices import district; district({count})"
    done = run_manage("shell", "--no-imports", "-c", code, database=database, check=False)
    assert done.returncode == 0, done.stderr


def snapshot(database: str) -> dict[str, Any]:
    said = run_manage("shell", "--no-imports", "-c", SNAPSHOT, database=database).stdout
    kept: dict[str, Any] = json.loads(said.splitlines()[-1])
    return kept


def pdfs(folder: Path) -> dict[str, str]:
    return {
        path.name: hashlib.sha256(path.read_bytes()).hexdigest() for path in folder.glob("*.pdf")
    }


def arguments(out: Path) -> list[str]:
    return ["run_day", "--program", "flats", "--as-of", DAY, "--out", str(out), "--json"]


@pytest.fixture(scope="module")
def undisturbed(tmp_path_factory: pytest.TempPathFactory, request: Any) -> Any:
    """The letters and files of a run that nothing disturbs."""
    maker = request.getfixturevalue("_databases")
    out = tmp_path_factory.mktemp("undisturbed")
    with maker.fresh() as database:
        fill(database)
        run_manage(*arguments(out), database=database)
        yield snapshot(database), pdfs(out)


def kill_after(process: subprocess.Popen[str], *, letters: int, out: Path, delay_s: float) -> bool:
    """Kill the run a moment after it has written so many letters; False when it ended before."""
    while process.poll() is None and len(pdfs(out)) < letters:
        time.sleep(0.01)
    time.sleep(delay_s)
    ended = process.poll() is not None
    process.kill()
    process.communicate()
    return not ended


@pytest.mark.slow
@pytest.mark.parametrize("seed", [1, 2])
def test_a_run_killed_at_random_moments_and_run_again_writes_the_same_letters(
    own_database: str, out: Path, undisturbed: Any, seed: int
) -> None:
    expected, files = undisturbed
    fill(own_database)
    moments = random.Random(seed)
    after = [0, *sorted(moments.sample(range(1, len(files) - 5), 4))]
    killed = [
        kill_after(
            start_manage(*arguments(out), database=own_database),
            letters=letters,
            out=out,
            delay_s=moments.uniform(0.0, 0.4 if letters else 1.5),
        )
        for letters in after
    ]
    assert sum(killed) >= 3
    run_manage(*arguments(out), database=own_database)
    assert snapshot(own_database) == expected
    assert pdfs(out) == files


@pytest.mark.slow
@pytest.mark.postgres
@pytest.mark.parametrize("workers", [2, 4])
def test_runs_at_once_write_no_notice_twice(
    own_database: str, out: Path, undisturbed: Any, workers: int
) -> None:
    expected, files = undisturbed
    fill(own_database)
    together = [start_manage(*arguments(out), database=own_database) for _ in range(workers)]
    said = [process.communicate(timeout=300) for process in together]
    assert [process.returncode for process in together] == [0] * workers, said
    tallies = [json.loads(told) for told, _ in said]
    assert sum(tally["notices"] for tally in tallies) == expected["count"]
    assert sum(tally["letters"] for tally in tallies) == len(expected["letters"])
    after = snapshot(own_database)
    assert after["count"] == expected["count"]
    assert {row[0] for row in after["notices"]} == {row[0] for row in expected["notices"]}
    assert len(pdfs(out)) == len(files)


@pytest.mark.slow
@pytest.mark.parametrize("workers", [2, 4])
def test_runs_started_together_end_the_same(
    own_database: str, out: Path, undisturbed: Any, workers: int
) -> None:
    """SQLite lets one writer in at a time; all runs must wait, not fail."""
    expected, _ = undisturbed
    fill(own_database)
    together = [start_manage(*arguments(out), database=own_database) for _ in range(workers)]
    said = [process.communicate(timeout=300) for process in together]
    assert [process.returncode for process in together] == [0] * workers, said
    assert snapshot(own_database)["count"] == expected["count"]
