"""What the queue calls: it reads the clock, wakes, and carries no data of its own."""

from __future__ import annotations

import logging

from django.utils import timezone

from notices.actions.waking import wake_programs

logger = logging.getLogger(__name__)


def wake() -> str:
    """Wake every live program whose day has begun; the answer is for the queue's own list."""
    woken = wake_programs(clock=timezone.now)
    ran = [one.program for one in woken if one.day and not one.problem]
    stopped = [f"{one.program}: {one.problem}" for one in woken if one.problem]
    return f"ran {', '.join(ran) or 'none'}" + (
        f"; stopped {'; '.join(stopped)}" if stopped else ""
    )
