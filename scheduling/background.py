"""Work that outlasts a request: it goes on in a thread of its own, and is waited for a moment."""

from __future__ import annotations

import threading
from collections.abc import Callable

from django.db import connections


def begin(work: Callable[[], None], *, wait_seconds: float) -> None:
    """Start work that keeps its own result, and return once it ends or the wait is over.

    A process that ends takes it along; whoever waits for the result has to notice.
    """

    def run() -> None:
        try:
            work()
        finally:
            connections.close_all()

    thread = threading.Thread(target=run, daemon=True)
    thread.start()
    thread.join(wait_seconds)
