"""read_roads: an extract of open street data becomes the road map of plans, and maps' ground."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management.base import CommandParser

from registry.console import Answer, OfficeCommand, Refused, progress_on_stderr
from scheduling.roads.drawing import read_drawn
from scheduling.roads.drawn import beside, save_drawn
from scheduling.roads.map_file import save
from scheduling.roads.reading import UnreadableRoadsError, read_roads


class Command(OfficeCommand):
    """Reads an extract and keeps the road map at `WATERCLERK_ROADS`."""

    help = "Build the road map for plans from an extract of open street data (.osm.pbf)."

    def arguments(self, parser: CommandParser) -> None:
        parser.add_argument("file", help="an .osm.pbf, cut so that the whole area is inside")

    def perform(self, options: dict[str, Any]) -> Answer:
        path = Path(options["file"])
        if not path.is_file():
            raise Refused(f"There is no file {path}.")
        try:
            with progress_on_stderr("Ways") as advance:
                roads = replace(read_roads(path, tell=advance), name=path.name)
            drawn = read_drawn(path)
        except UnreadableRoadsError as fault:
            raise Refused(str(fault)) from fault
        kept = Path(settings.ROADS)
        save(roads, kept)
        save_drawn(drawn, beside(kept))
        south, west = float(roads.lat.min()), float(roads.lon.min())
        north, east = float(roads.lat.max()), float(roads.lon.max())
        said = {
            "crossings": int(roads.lat.size),
            "stretches": int(roads.graph.nnz),
            "bounds": {"south": south, "west": west, "north": north, "east": east},
            "attribution": roads.attribution,
            "drawn": int(drawn.ends.size),
            "kept": str(kept),
        }
        return Answer(
            payload=said,
            lines=[
                f"{roads.lat.size:,} crossings, {roads.graph.nnz:,} stretches between them.",
                f"From {south:.4f}, {west:.4f} to {north:.4f}, {east:.4f}.",
                f"{drawn.ends.size:,} lines of streets and water are drawn under maps.",
                f"Plans from now on use them. They say: Road data {roads.attribution}.",
                f"Kept as {kept}.",
            ],
        )
