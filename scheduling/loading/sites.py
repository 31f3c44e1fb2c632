"""Premises of a file: rows of one account and address together, matched, corrected or new."""

from collections import Counter
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from registry.domain.cells import clean
from registry.domain.fields import RegistryField as F
from registry.domain.identity import account_key, address_key, folded, premises_key
from registry.domain.statements import StatedRow, StatedSite
from registry.models import Premises
from scheduling.loading.hand_edits import written_by_hand
from scheduling.loading.landing import Landing

_TEXTS = {
    "account": F.ACCOUNT,
    "name": F.PREMISES,
    "address": F.ADDRESS,
    "city": F.CITY,
    "state": F.STATE,
    "zip": F.ZIP,
    "use": F.USE,
    "phone": F.PHONE,
}
_COLUMNS: Mapping[str, F] = {**_TEXTS, "position": F.LAT}
_KNOWN_BY = frozenset({"account", "address"})
_FAR_DEGREES = Decimal("0.01")
"""About a kilometre: two assemblies of one premises may well differ by less."""


@dataclass(frozen=True, kw_only=True)
class SiteGroup:
    """The rows of one premises and what they say of it together: the first that says it."""

    key: str
    rows: tuple[StatedRow, ...]
    said: Mapping[str, Any]


def land_sites(landing: Landing) -> dict[int, Premises]:
    """Write the premises of all rows; return them by row number."""
    groups = _groups(landing.rows)
    in_file = {group.key for group in groups}
    fresh: list[Premises] = []
    moved: list[Premises] = []
    site_of: dict[int, Premises] = {}
    known = [_known(group=group, groups=in_file, landing=landing) for group in groups]
    by_hand = written_by_hand(
        landing.program,
        [site for group, site in zip(groups, known, strict=True) if site and _differ(site, group)],
    )
    for group, found in zip(groups, known, strict=True):
        _tell_contradictions(group=group, landing=landing)
        site = found or _new(group=group, landing=landing)
        if found is None:
            fresh.append(site)
        elif _update(
            site=site, group=group, landing=landing, kept=by_hand.get(site.pk, frozenset())
        ):
            moved.append(site)
        site_of.update({row.row: site for row in group.rows})
    Premises.objects.bulk_create(fresh, batch_size=500)
    Premises.objects.bulk_update(moved, [*_TEXTS, "lat", "lon", "key"], batch_size=200)
    landing.stored.premises.update({site.key: site for site in fresh})
    return site_of


def _known(*, group: SiteGroup, groups: set[str], landing: Landing) -> Premises | None:
    return landing.stored.premises.get(group.key) or _corrected(
        group=group, groups=groups, landing=landing
    )


def _differ(site: Premises, group: SiteGroup) -> bool:
    return any(value and value != _stored_value(site, name) for name, value in group.said.items())


def _groups(rows: Iterable[StatedRow]) -> list[SiteGroup]:
    together: dict[str, list[StatedRow]] = {}
    for row in rows:
        site = row.site
        key = premises_key(account=site.account, address=site.address, city=site.city)
        together.setdefault(key, []).append(row)
    return [
        SiteGroup(key=key, rows=tuple(members), said=_said(members))
        for key, members in together.items()
    ]


def _said(rows: Sequence[StatedRow]) -> dict[str, Any]:
    """What most rows say of a position, and what the first row that says it says of the rest."""
    said = {
        name: next((value for row in rows if (value := _value(row.site, name))), None)
        for name in _TEXTS
    }
    positions = Counter(value for row in rows if (value := _value(row.site, "position")))
    most = positions.most_common(1)
    return {**said, "position": most[0][0] if most else None}


def _value(site: StatedSite, name: str) -> Any:
    if name == "position":
        position = site.position
        return (position.lat, position.lon) if position.lat is not None else None
    return getattr(site, name)


def _stored_value(site: Premises, name: str) -> Any:
    if name == "position":
        return (site.lat, site.lon) if site.lat is not None else None
    return clean(getattr(site, name))


def _new(*, group: SiteGroup, landing: Landing) -> Premises:
    texts = {name: group.said[name] or "" for name in _TEXTS}
    lat, lon = group.said["position"] or (None, None)
    for row in group.rows:
        if row.row in landing.matching.found:
            before = landing.matching.found[row.row].premises
            landing.note(
                row=row.row, name="premises", before=str(before.address), after=texts["address"]
            )
    return Premises(
        program=landing.program,
        key=group.key,
        lat=lat,
        lon=lon,
        created_at=landing.hand.at,
        **texts,
    )


def _corrected(*, group: SiteGroup, groups: set[str], landing: Landing) -> Premises | None:
    """The stored premises whose account or address this file corrects.

    That is one which no row of the file names any more, all of whose assemblies the rows of
    this group speak of, and which shares the account or the address.
    """
    here = {
        assembly.pk: assembly.premises
        for row in group.rows
        if (assembly := landing.matching.found.get(row.row))
    }
    before = {site.pk: site for site in here.values()}
    if len(before) != 1:
        return None
    site = next(iter(before.values()))
    shares = account_key(site.account) == account_key(group.said["account"] or "") or (
        address_key(site.address) == address_key(group.said["address"] or "")
    )
    moves_whole = landing.stored.at_premises[site.pk] <= set(here)
    return site if site.key not in groups and shares and moves_whole else None


def _update(*, site: Premises, group: SiteGroup, landing: Landing, kept: Collection[str]) -> bool:
    """Bring a stored premises to what the rows say; blanks and what a person wrote stay."""
    changed = False
    for name, value in group.said.items():
        before = _stored_value(site, name)
        if not value or value == before:
            continue
        if name in kept or (name == "position" and "lat" in kept):
            _tell_kept(group, name=name, before=before, landing=landing)
            continue
        changed = True
        if name == "use":
            landing.touched.update(landing.stored.at_premises[site.pk])
        for row in group.rows:
            if _value(row.site, name) == value:
                landing.note(row=row.row, name=f"premises {name}", before=before, after=value)
        _set(site=site, name=name, value=value)
    key = premises_key(account=site.account, address=site.address, city=site.city)
    if changed and site.key != key:
        site.key = key
        landing.stored.premises[key] = site
    return changed


def _tell_kept(group: SiteGroup, *, name: str, before: Any, landing: Landing) -> None:
    """Tell of a difference that stays as a person wrote it, once for each row that has it."""
    for row in group.rows:
        own = _value(row.site, name)
        if own and own != before and (own == group.said[name] or name in _KNOWN_BY):
            landing.warn(
                row=row,
                name=_COLUMNS[name],
                message=f"A person wrote {_shown(before) if before else 'nothing'} here by hand,"
                " and that stays; change the premises by hand if the sheet is right, or mend the"
                " sheet.",
            )


def _set(*, site: Premises, name: str, value: Any) -> None:
    if name == "position":
        site.lat, site.lon = value
    else:
        setattr(site, name, value)


def _tell_contradictions(*, group: SiteGroup, landing: Landing) -> None:
    for name, value in group.said.items():
        for row in group.rows:
            own = _value(row.site, name)
            if own and own != value and name not in _KNOWN_BY and _differs(own, value):
                landing.warn(
                    row=row,
                    name=_COLUMNS[name],
                    message=f"Another row of this premises says {_shown(value)}, which is taken; "
                    "make the rows agree.",
                )


def _differs(own: Any, value: Any) -> bool:
    if isinstance(own, tuple):
        return any(abs(a - b) > _FAR_DEGREES for a, b in zip(own, value, strict=True))
    return folded(own) != folded(value)


def _shown(value: Any) -> str:
    return ", ".join(str(part) for part in value) if isinstance(value, tuple) else repr(value)
