"""Assemblies by the serial and maker that a file or a person names, old numbers included."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass

from registry.domain.identity import maker_key, serial_key
from registry.models import Alias, Assembly, Program

CHUNK = 500
"""Keys in one question: every database takes that many parameters."""


@dataclass(frozen=True, slots=True, kw_only=True)
class NamedSerial:
    """A serial under which an assembly is, or was before a merge, known."""

    assembly_id: int
    serial: str
    maker: str
    maker_key: str
    is_old: bool


class SerialBook:
    """The assemblies behind many serials of one program, asked for once."""

    def __init__(self, *, program: Program, serials: Collection[str]) -> None:
        self._found: dict[str, list[NamedSerial]] = {}
        keys = sorted({serial_key(serial) for serial in serials if serial})
        for start in range(0, len(keys), CHUNK):
            some = keys[start : start + CHUNK]
            self._add(_present(program, some))
            self._add(_old(program, some))

    def _add(self, found: Iterable[tuple[str, NamedSerial]]) -> None:
        for key, named in found:
            self._found.setdefault(key, []).append(named)

    def meant(self, *, serial: str, maker: str = "") -> Sequence[NamedSerial]:
        """Return the assemblies a serial can mean: one, none, or several to choose from.

        A maker that is named decides; an assembly without a maker on record is meant by any,
        where no other has its serial. A present number goes before an old one.
        """
        same = self._found.get(serial_key(serial), [])
        if maker:
            exact = [named for named in same if named.maker_key == maker_key(maker)]
            unnamed = [named for named in same if not named.maker_key]
            same = exact or (unnamed if len(same) == 1 else [])
        present = [named for named in same if not named.is_old]
        return _once(present or same)


def _once(found: Sequence[NamedSerial]) -> list[NamedSerial]:
    return list({named.assembly_id: named for named in reversed(found)}.values())[::-1]


def _present(program: Program, keys: Sequence[str]) -> Iterable[tuple[str, NamedSerial]]:
    rows = Assembly.objects.filter(program=program, serial_key__in=keys).order_by("maker", "pk")
    for pk, serial, key, maker, maker_key_ in rows.values_list(
        "pk", "serial", "serial_key", "maker", "maker_key"
    ):
        yield (
            key,
            NamedSerial(
                assembly_id=pk, serial=serial, maker=maker, maker_key=maker_key_, is_old=False
            ),
        )


def _old(program: Program, keys: Sequence[str]) -> Iterable[tuple[str, NamedSerial]]:
    rows = Alias.objects.filter(program=program, assembly__isnull=False, key__in=keys)
    for pk, shown, key, maker, maker_key_ in rows.order_by("pk").values_list(
        "assembly_id", "shown", "key", "maker", "maker_key"
    ):
        assert pk is not None
        yield (
            key,
            NamedSerial(
                assembly_id=pk, serial=shown, maker=maker, maker_key=maker_key_, is_old=True
            ),
        )
