"""Serials that come close to one nobody knows: slips of the pen and of the keyboard."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field

from registry.domain.cells import letters_of

MOST_PROPOSED = 5
_LOOKALIKES = str.maketrans("OQDILZSB", "00011258")


@dataclass(frozen=True, kw_only=True)
class KnownSerial:
    """A serial of the registry with its maker: as written, and as they are compared."""

    serial: str
    maker: str
    serial_key: str
    maker_key: str


@dataclass(kw_only=True)
class SerialIndex:
    """The serials of one program, ready to be looked up by what might have been meant."""

    by_key: Mapping[str, list[KnownSerial]]
    _by_shape: dict[str, list[KnownSerial]] = field(default_factory=dict)

    @classmethod
    def of(cls, known: Iterable[KnownSerial]) -> SerialIndex:
        """Index a registry's serials."""
        by_key: dict[str, list[KnownSerial]] = {}
        by_shape: dict[str, list[KnownSerial]] = {}
        for one in known:
            by_key.setdefault(one.serial_key, []).append(one)
            by_shape.setdefault(_shape(one.serial_key), []).append(one)
        return cls(by_key=by_key, _by_shape=by_shape)

    def near(self, *, serial_key: str, maker_key: str) -> list[KnownSerial]:
        """Up to five serials that one slip turns into this one, the likeliest first.

        First the same serial under another maker, swapped neighbours, the whole read backwards,
        the first or last sign moved to the other end, and look-alikes (O and 0, I and 1, S and
        5, B and 8, Z and 2, a dash more or less); only if there is none, one sign wrong, missing
        or too many, or two swapped from afar, of the same maker.
        """
        found = self._known(_likely(serial_key))
        found += self._by_shape.get(_shape(serial_key), [])
        if not found:
            same = self._known(_less_likely(serial_key))
            found = [one for one in same if not maker_key or one.maker_key == maker_key]
        ordered = sorted(
            dict.fromkeys(found), key=lambda one: (one.maker_key != maker_key, one.serial)
        )
        return ordered[:MOST_PROPOSED]

    def _known(self, keys: Iterable[str]) -> list[KnownSerial]:
        return [one for key in keys for one in self.by_key.get(key, [])]


def _shape(key: str) -> str:
    """Dashes and points off, look-alikes made one."""
    return letters_of(key).translate(_LOOKALIKES)


def _likely(key: str) -> Iterator[str]:
    yield key
    yield key[::-1]
    yield key[-1:] + key[:-1]
    yield key[1:] + key[:1]
    for place in range(len(key) - 1):
        yield key[:place] + key[place + 1] + key[place] + key[place + 2 :]


def _less_likely(key: str) -> Iterator[str]:
    signs = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ"
    for place in range(len(key)):
        yield key[:place] + key[place + 1 :]
        for sign in signs:
            yield key[:place] + sign + key[place + 1 :]
            yield key[:place] + sign + key[place:]
    for sign in signs:
        yield key + sign
    for first in range(len(key)):
        for then in range(first + 2, len(key)):
            moved = list(key)
            moved[first], moved[then] = moved[then], moved[first]
            yield "".join(moved)
