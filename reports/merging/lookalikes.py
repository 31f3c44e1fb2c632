"""Parties and assemblies that look like one: listed with the reason, for a person to decide."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from heapq import nlargest
from itertools import combinations, groupby
from operator import itemgetter
from typing import Any, NamedTuple

from django.db.models import QuerySet
from rapidfuzz import fuzz

from registry.domain.cells import letters_of
from registry.domain.identity import address_key, folded, maker_key
from registry.models import Assembly, Party, Program

NEAR_NAME = 82
NEAR_SERIAL = 85
MOST_SHARING = 12
"""More parties than this behind one e-mail, telephone or address are no doubles: a manager's."""
MOST_PAIRS = 100
_LOOKALIKES = str.maketrans("OQDILZSB", "00011258")


@dataclass(frozen=True, slots=True, kw_only=True)
class Alike:
    """Two rows that may be one, and why."""

    one: int
    other: int
    one_label: str
    other_label: str
    why: str


def alike_parties(program: Program) -> list[Alike]:
    """Return parties of the same e-mail or telephone, or the same address with a near name.

    The likeliest first: by how near their names are, then by how many of these they share.
    """
    rows = list(
        Party.objects.filter(program=program)
        .order_by("pk")
        .values("pk", "name", "address", "city", "email", "phone")
    )
    shared: dict[tuple[int, int], _Shared] = {}
    for why, groups, near in (
        ("same e-mail", _grouped(rows, lambda row: folded(row["email"])), 0),
        ("same telephone", _grouped(rows, lambda row: _figures(row["phone"])), 0),
        ("same address, near name", _grouped(rows, _address), NEAR_NAME),
    ):
        for nearness, one, other in _nearest(groups, least=near):
            pair = shared.setdefault((one["pk"], other["pk"]), _Shared(nearness, one, other, []))
            pair.why.append(why)
    found: dict[tuple[int, int], Alike] = {}
    for pair in sorted(shared.values(), key=lambda pair: (-pair.nearness, -len(pair.why))):
        _keep(found, pair.one, pair.other, why="; ".join(pair.why))
    return list(found.values())[:MOST_PAIRS]


class _Shared(NamedTuple):
    """Two parties, how near their names are (0 to 100), and what they share."""

    nearness: float
    one: dict[str, Any]
    other: dict[str, Any]
    why: list[str]


def _nearest(
    groups: Iterable[list[dict[str, Any]]], *, least: float
) -> list[tuple[float, dict[str, Any], dict[str, Any]]]:
    """The pairs with the nearest names, as many as are shown; `least` is the farthest taken."""
    told = (
        (fuzz.token_sort_ratio(folded(one["name"]), folded(other["name"])), one, other)
        for one, other in _pairs(groups)
    )
    return nlargest(MOST_PAIRS, (pair for pair in told if pair[0] >= least), key=itemgetter(0))


def alike_assemblies(program: Program) -> list[Alike]:
    """Return assemblies of one type at one premises with serials a slip apart, or one serial
    under two makers of which one is blank or near."""
    rows = Assembly.objects.filter(program=program, state__removed_on__isnull=True).values(
        "pk", "serial", "serial_key", "maker", "type", "premises_id"
    )
    found: dict[tuple[int, int], Alike] = {}
    by_serial = _in_turn(rows, "serial_key")
    for one, other in _pairs(by_serial):
        if _near_maker(one["maker"], other["maker"]):
            _keep(found, one, other, why="same serial, near maker", name="serial")
    by_place = _in_turn(rows, "premises_id", "type")
    for one, other in _pairs(by_place):
        if _near_serial(one["serial"], other["serial"]):
            _keep(found, one, other, why="same premises and type, near serial", name="serial")
        if len(found) >= MOST_PAIRS:
            break
    return list(found.values())[:MOST_PAIRS]


def _grouped(rows: Iterable[Any], key: Any) -> Iterator[list[dict[str, Any]]]:
    together: dict[str, list[dict[str, Any]]] = defaultdict(list)
    for row in rows:
        if value := key(row):
            together[value].append(row)
    return (group for group in together.values() if 2 <= len(group) <= MOST_SHARING)


def _in_turn(rows: QuerySet[Any, Any], *names: str) -> Iterator[list[dict[str, Any]]]:
    """Groups of equal columns, read in their order: however many there are, one group is held."""
    ordered = rows.order_by(*names, "pk").iterator(chunk_size=2000)
    for _, members in groupby(ordered, key=itemgetter(*names)):
        group = list(members)
        if 2 <= len(group) <= MOST_SHARING:
            yield group


def _pairs(groups: Iterable[list[dict[str, Any]]]) -> Iterator[tuple[Any, Any]]:
    for group in groups:
        yield from combinations(group, 2)


def _keep(
    found: dict[tuple[int, int], Alike], one: Any, other: Any, *, why: str, name: str = "name"
) -> None:
    found.setdefault(
        (one["pk"], other["pk"]),
        Alike(
            one=one["pk"],
            other=other["pk"],
            one_label=one[name],
            other_label=other[name],
            why=why,
        ),
    )


def _figures(phone: str) -> str:
    figures = "".join(sign for sign in phone if sign.isdecimal())[-10:]
    return figures if len(figures) >= 7 else ""


def _address(row: dict[str, Any]) -> str:
    key = address_key(row["address"])
    return f"{key}|{folded(row['city'])}" if key else ""


def _near_maker(one: str, other: str) -> bool:
    first, second = maker_key(one), maker_key(other)
    return not first or not second or fuzz.ratio(first, second) >= NEAR_NAME


def _near_serial(one: str, other: str) -> bool:
    first, second = letters_of(one), letters_of(other)
    if first.translate(_LOOKALIKES) == second.translate(_LOOKALIKES):
        return True
    is_run = first[:-1] == second[:-1] and first[-1:].isdecimal() and second[-1:].isdecimal()
    return not is_run and len(first) > 4 and fuzz.ratio(first, second) >= NEAR_SERIAL
