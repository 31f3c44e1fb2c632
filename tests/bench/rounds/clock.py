"""Seconds of the processor in place of the wall's, for a machine that others use too."""

from __future__ import annotations

import os
import time
from collections.abc import Iterator
from contextlib import contextmanager
from unittest import mock

WORDS = "processor time" if os.environ.get("BENCH_CLOCK", "") == "processor" else "wall time"


class ProcessorSeconds:
    """Stops a search once this process has worked for so many seconds since it was first asked."""

    def __init__(self, seconds: float) -> None:
        self._seconds = seconds
        self._ends: float | None = None

    def __call__(self, best_cost: int) -> bool:
        """Asked by the engine before each iteration."""
        now = time.process_time()
        if self._ends is None:
            self._ends = now + self._seconds
        return now >= self._ends


@contextmanager
def by_the_chosen_clock() -> Iterator[None]:
    """With BENCH_CLOCK=processor the planner's seconds are those that this process worked."""
    if WORDS == "wall time":
        yield
        return
    with mock.patch("scheduling.search_watch.MaxRuntime", ProcessorSeconds):
        yield
