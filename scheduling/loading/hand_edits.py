"""What a person wrote by hand into a premises: no sheet overwrites it unseen."""

from __future__ import annotations

from collections.abc import Collection

from registry.models import Change, Premises, Program

WHAT = "premises"


def written_by_hand(program: Program, premises: Collection[Premises]) -> dict[int, set[str]]:
    """Return the fields of each premises that a person filled in, changed or cleared.

    A blank that a person left blank is nobody's word.
    """
    sites = {site.pk: site for site in premises}
    found: dict[int, set[str]] = {}
    ids = sorted(sites)
    for start in range(0, len(ids), 500):
        rows = Change.objects.filter(
            program=program, what=WHAT, batch__isnull=True, subject_id__in=ids[start : start + 500]
        )
        for pk, before, after in rows.values_list("subject_id", "before", "after"):
            said = {name for name in after if before.get(name) or after[name]}
            found.setdefault(pk or 0, set()).update(said)
    return found
