"""A round for other programs: GPX 1.1 (a route with its waypoints) and GeoJSON (RFC 7946)."""

from __future__ import annotations

import json
from collections.abc import Sequence
from xml.etree import ElementTree

from reports.domain.calendar_text import one_line
from reports.domain.day_sheets import DaySheet, SheetStop

GPX = "http://www.topografix.com/GPX/1/1"


def gpx_of(sheet: DaySheet) -> bytes:
    """The day as one route: depot, each stop in order, depot.

    What no XML 1.0 document may hold is left out of the words.
    """
    ElementTree.register_namespace("", GPX)
    root = ElementTree.Element(f"{{{GPX}}}gpx", version="1.1", creator="Waterclerk")
    route = ElementTree.SubElement(root, f"{{{GPX}}}rte")
    _text(route, "name", f"{sheet.tester}, {sheet.day}")
    _point(route, sheet.depot, name="Depot", said="")
    for stop, where in _spots(sheet):
        _point(route, where, name=f"{stop.number}. {stop.place[0]}", said=_said(stop))
    _point(route, sheet.depot, name="Depot", said="")
    written: bytes = ElementTree.tostring(root, encoding="utf-8", xml_declaration=True)
    return written


def geojson_of(sheet: DaySheet) -> str:
    """A feature for the way driven and one for each stop; longitude first, as RFC 7946 asks."""
    spots = _spots(sheet)
    way = [sheet.depot, *(where for _, where in spots), sheet.depot]
    line = {
        "type": "Feature",
        "geometry": {"type": "LineString", "coordinates": [[lon, lat] for lat, lon in way]},
        "properties": {"name": one_line(f"{sheet.tester}, {sheet.day}"), "how": sheet.travel},
    }
    points = [
        {
            "type": "Feature",
            "geometry": {"type": "Point", "coordinates": [where[1], where[0]]},
            "properties": {
                "number": stop.number,
                "name": one_line(stop.place[0]),
                "times": stop.times,
                "work": [one_line(one) for one in stop.work],
            },
        }
        for stop, where in spots
    ]
    return json.dumps({"type": "FeatureCollection", "features": [line, *points]})


def _spots(sheet: DaySheet) -> Sequence[tuple[SheetStop, tuple[float, float]]]:
    return [
        (stop, (stop.lat, stop.lon))
        for stop in sheet.stops
        if stop.lat is not None and stop.lon is not None
    ]


def _said(stop: SheetStop) -> str:
    return "; ".join((stop.times, *stop.place[1:], *stop.work))


def _point(route: ElementTree.Element, where: tuple[float, float], *, name: str, said: str) -> None:
    point = ElementTree.SubElement(route, f"{{{GPX}}}rtept", lat=f"{where[0]}", lon=f"{where[1]}")
    _text(point, "name", name)
    if said:
        _text(point, "desc", said)


def _text(parent: ElementTree.Element, name: str, words: str) -> None:
    ElementTree.SubElement(parent, f"{{{GPX}}}{name}").text = _for_xml(one_line(words))


def _for_xml(words: str) -> str:
    """Without what XML 1.0 section 2.2 has no character for."""
    return "".join(char for char in words if char not in "\ufffe\uffff")
