"""What was touched since a merge: each new, changed or vanished row by its name."""

from __future__ import annotations

from typing import Any

from django.db import models

from reports.merging.rows import Record, as_texts, digest_of, pointing_to

DERIVED = frozenset({"scheduling.Obligation", "scheduling.AssemblyState", "registry.Alias"})
"""Rows that replay works out again, and those the merge itself hangs on the kept row."""


def remember(row: models.Model, *, record: Record) -> None:
    """Keep how everything stood when the merge was done."""
    record.after = {
        pointer.label: {str(one.pk): digest_of(one) for one in pointer.rows(row.pk)}
        for pointer in pointing_to(type(row), but=DERIVED)
    }
    record.row_after = as_texts([row])[0]["fields"]


def touched_since(row: models.Model, *, record: Record) -> list[str]:
    """Return the names of what is new, changed or gone since, or nothing."""
    found: list[str] = []
    now_fields = as_texts([row])[0]["fields"]
    found += [
        f"{name.replace('_', ' ')}: changed"
        for name, value in now_fields.items()
        if record.row_after.get(name) != value
    ]
    for pointer in pointing_to(type(row), but=DERIVED):
        before = record.after.get(pointer.label, {})
        now = {str(one.pk): one for one in pointer.rows(row.pk)}
        for key, one in now.items():
            if key not in before:
                found.append(f"{_name(pointer.model)} {one}: new")
            elif before[key] != digest_of(one):
                found.append(f"{_name(pointer.model)} {one}: changed")
        if len(before.keys() - now.keys()):
            found.append(f"{_name(pointer.model)}: {len(before.keys() - now.keys())} moved away")
    return found


def _name(model: type[models.Model]) -> Any:
    return model._meta.verbose_name
