"""Very many letters drawn and gathered into batch files by two processes, with flat memory.

Run: `python -m tests.bench.many_letters COUNT FOLDER`. Each process draws a batch of letters,
gathers their bytes into one file, and goes on; what it holds is one batch, however many follow.
"""

from __future__ import annotations

import json
import multiprocessing
import resource
import sys
import time
from dataclasses import replace
from pathlib import Path

from notices.rendering.batches import batch
from notices.rendering.letters import render
from tests.bench.letters import content_of
from tests.domain.notices.letters import LINK

BATCH = 500
"""Letters of one file, as of one paper run."""

PROCESSES = 2
MEGABYTES = 400


def main() -> None:
    """Draw so many letters into batch files of a folder, and print what it took as JSON."""
    count, folder = int(sys.argv[1]), Path(sys.argv[2])
    folder.mkdir(parents=True, exist_ok=True)
    jobs = [
        (first, min(first + BATCH, count), str(folder / f"letters-{first:06d}.pdf"))
        for first in range(0, count, BATCH)
    ]
    started, done = time.perf_counter(), 0
    peaks: list[float] = []
    with multiprocessing.get_context("spawn").Pool(PROCESSES) as pool:
        for letters, megabytes in pool.imap_unordered(_file, jobs):
            done += letters
            peaks.append(megabytes)
            pace = done / (time.perf_counter() - started)
            sys.stderr.write(f"{done:,} of {count:,} letters, {pace:.0f} a second\n")
    took = time.perf_counter() - started
    half = peaks[: max(1, len(peaks) // 2)]
    told = {
        "letters": done,
        "seconds": round(took, 1),
        "a_second": round(done / took, 1),
        "megabytes_first_half": round(max(half)),
        "megabytes": round(max(peaks)),
        "is_flat": max(peaks) <= MEGABYTES,
    }
    sys.stdout.write(json.dumps(told) + "\n")
    sys.exit(0 if told["is_flat"] else 1)


def _file(job: tuple[int, int, str]) -> tuple[int, float]:
    """Draw and gather one file; return its letters and the process's peak in megabytes."""
    first, last, path = job
    kept = []
    for number in range(first, last):
        content = content_of(number % 10_000)
        title = replace(content.reference[0], value=f"26-1103-{number:06d}")
        content = replace(content, reference=(title, *content.reference[1:]))
        kept.append(render(content, link=f"{LINK[:-6]}{number:06d}").pdf)
    Path(path).write_bytes(batch(kept))
    return last - first, resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


if __name__ == "__main__":
    main()
