"""Serves the site on this machine alone, and keeps the office's clock: `manage.py serve`."""

from __future__ import annotations

from contextlib import nullcontext
from typing import Any

from django.conf import settings
from django.core.management.base import CommandParser
from django.utils import timezone

from config.serving import cluster_beside, end_on_term, free_port, serve_forever
from notices.actions.waking import ensure_wake_ups
from registry.console import Answer, OfficeCommand, Refused


class Command(OfficeCommand):
    help = "Serve the site on loopback, for one machine; offices put a web server in front."
    offers_json = False

    def arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--port", type=int, default=8000, help="the first port to try")
        parser.add_argument(
            "--no-clock", action="store_true", help="start no cluster: no day is run by itself"
        )

    def perform(self, options: dict[str, Any]) -> Answer:
        from config.wsgi import application  # noqa: PLC0415  (checks the settings when opened)

        try:
            port = free_port(options["port"])
        except OSError as error:
            raise Refused(f"No port to serve on: {error}.") from error
        keeps_clock = not options["no_clock"]
        if keeps_clock:
            ensure_wake_ups(now=timezone.now())
        self.stdout.write(f"Serving on http://127.0.0.1:{port}/ (Ctrl-C ends it).")
        self.stdout.write(_of_clock(keeps_clock=keeps_clock))
        self.stdout.flush()
        end_on_term()
        beside = cluster_beside(manage=settings.BASE_DIR / "manage.py")
        with beside if keeps_clock else nullcontext():
            try:
                serve_forever(application=application, port=port)
            except KeyboardInterrupt:
                self.stdout.write("")
        return Answer(payload=None, lines=["Ended."])


def _of_clock(*, keeps_clock: bool) -> str:
    if not keeps_clock:
        return "The clock is off: run each day with `manage.py run_day --program all`."
    return (
        "The clock runs beside it: from "
        f"{settings.DAY_BEGINS_AT}:00 local time each live program's day is run, every ten minutes "
        "for what arrived since (--no-clock turns it off)."
    )
