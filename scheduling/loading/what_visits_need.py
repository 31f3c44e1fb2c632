"""What a file says a visit needs: permit spaces, twins, whom to tell before the water goes off."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final

from registry.models import Assembly, Premises
from scheduling.loading.landing import Landing

_OF_ASSEMBLY: Final = ("permit_space", "has_twin")
_OF_PREMISES: Final = ("call_when", "shutdown_tell", "shutdown_days")
_LONGEST: Final = {"call_when": 120, "shutdown_tell": 300}


def land_needs(
    *, landing: Landing, site_of: Mapping[int, Premises], landed: Mapping[int, Assembly]
) -> None:
    """Write what rows say of visits; blanks leave what is stored, the first row that says it wins.

    None of it is what a rule asks about, so nothing is replayed for it.
    """
    sites: dict[int, Premises] = {}
    assemblies: dict[int, Assembly] = {}
    told: set[tuple[int, str]] = set()
    for row in landing.rows:
        site, assembly = site_of[row.row], landed[row.row]
        for name in _OF_PREMISES:
            said = getattr(row.site, name)
            if said in ("", None) or (site.pk, name) in told:
                continue
            told.add((site.pk, name))
            if _set(site, name, said, row=row.row, landing=landing):
                sites[site.pk] = site
        for name in _OF_ASSEMBLY:
            said = getattr(row.assembly, name)
            if said is not None and _set(assembly, name, said, row=row.row, landing=landing):
                assemblies[assembly.pk] = assembly
    Premises.objects.bulk_update(sites.values(), list(_OF_PREMISES), batch_size=200)
    Assembly.objects.bulk_update(assemblies.values(), list(_OF_ASSEMBLY), batch_size=200)


def _set(thing: Any, name: str, said: Any, *, row: int, landing: Landing) -> bool:
    value = said[: _LONGEST[name]] if name in _LONGEST else said
    before = getattr(thing, name)
    if before == value:
        return False
    landing.note(row=row, name=name, before=before, after=value)
    setattr(thing, name, value)
    return True
