"""Serves the site on this machine alone: `manage.py serve`."""

from __future__ import annotations

from typing import Any

from django.core.management.base import CommandParser

from config.serving import free_port, serve_forever
from registry.console import Answer, OfficeCommand, Refused


class Command(OfficeCommand):
    help = "Serve the site on loopback, for one machine; offices put a web server in front."
    offers_json = False

    def arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--port", type=int, default=8000, help="the first port to try")

    def perform(self, options: dict[str, Any]) -> Answer:
        from config.wsgi import application  # noqa: PLC0415  (checks the settings when opened)

        try:
            port = free_port(options["port"])
        except OSError as error:
            raise Refused(f"No port to serve on: {error}.") from error
        self.stdout.write(f"Serving on http://127.0.0.1:{port}/ (Ctrl-C ends it).")
        self.stdout.flush()
        try:
            serve_forever(application=application, port=port)
        except KeyboardInterrupt:
            self.stdout.write("")
        return Answer(payload=None, lines=["Ended."])
