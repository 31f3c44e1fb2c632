"""`clock`: what the office's clock would do now, program by program."""

from __future__ import annotations

from typing import Any
from zoneinfo import ZoneInfo

from django.core.management.base import CommandParser
from django.utils import timezone
from django_q.models import Schedule

from notices.actions.waking import TASK, ensure_wake_ups
from notices.queries.office_clock import ClockFace, clock_faces
from registry.console import Answer, OfficeCommand


class Command(OfficeCommand):
    help = "Say what the office's clock would wake now, and what is wrong with it."

    def arguments(self, parser: CommandParser) -> None:
        parser.add_argument(
            "--wind", action="store_true", help="keep the schedule that wakes it every ten minutes"
        )

    def perform(self, options: dict[str, Any]) -> Answer:
        now = timezone.now()
        if options["wind"]:
            ensure_wake_ups(now=now)
        schedule = Schedule.objects.filter(func=TASK).order_by("pk").first()
        faces = sorted(clock_faces(now=now), key=lambda face: face.program.code)
        payload = {
            "now": now.isoformat(timespec="seconds"),
            "next_wake_up": _moment(schedule),
            "programs": [_as_json(face, now=now) for face in faces],
        }
        lines = [_of_schedule(schedule), *(line for face in faces for line in _lines(face))]
        if not faces:
            lines.append("No live program: trials are run by hand, for any day.")
        return Answer(payload=payload, lines=lines, clean=not any(face.fault for face in faces))


def _as_json(face: ClockFace, *, now: Any) -> dict[str, Any]:
    there = now.astimezone(ZoneInfo(face.hours.zone))
    return {
        "program": face.program.code,
        "zone": face.hours.zone,
        "local_time": there.isoformat(timespec="minutes"),
        "day_begins_at": f"{face.hours.begins_at:02d}:00",
        "last_run_on": face.last_good.isoformat() if face.last_good else None,
        "would_run": face.wake.day.isoformat() if face.wake.day else None,
        "why": face.wake.why,
        "fault": face.fault or None,
    }


def _moment(schedule: Schedule | None) -> str | None:
    found = schedule.next_run if schedule else None
    return found.isoformat(timespec="seconds") if found else None


def _of_schedule(schedule: Schedule | None) -> str:
    at = _moment(schedule)
    if at is None:
        return "No wake-up is set: `manage.py clock --wind` sets it, and a cluster keeps it."
    return f"The next wake-up is set for {at}, while a cluster runs."


def _lines(face: ClockFace) -> list[str]:
    would = f"would run {face.wake.day}" if face.wake.day else "would not run"
    lines = [
        f"{face.program.code}: {would} ({face.wake.why}); last run {face.last_good or 'never'}."
    ]
    return [*lines, f"{face.program.code}: {face.fault}."] if face.fault else lines
