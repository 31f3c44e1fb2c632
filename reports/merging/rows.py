"""Rows as texts that bring them back, and what points to one row pointed to another."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any

from django.apps import apps
from django.core import serializers
from django.db import IntegrityError, models, transaction
from django.db.models import ForeignObjectRel

Texts = list[dict[str, Any]]


@dataclass(slots=True)
class Record:
    """What an undoing needs: rows as they were, what moved, what was dropped, what was made."""

    kept: Texts = field(default_factory=list)
    gone: Texts = field(default_factory=list)
    moved: dict[str, list[int]] = field(default_factory=dict)
    dropped: Texts = field(default_factory=list)
    owed: Texts = field(default_factory=list)
    notices: dict[str, int] = field(default_factory=dict)
    made: dict[str, list[int]] = field(default_factory=dict)
    after: dict[str, dict[str, str]] = field(default_factory=dict)
    row_after: dict[str, Any] = field(default_factory=dict)

    def to_json(self) -> dict[str, Any]:
        """Return the record as the merge's row keeps it."""
        return {name: getattr(self, name) for name in self.__slots__}

    @classmethod
    def from_json(cls, kept: Mapping[str, Any]) -> Record:
        """Read a kept record."""
        return cls(**{name: kept[name] for name in cls.__slots__ if name in kept})


def as_texts(rows: Iterable[models.Model]) -> Texts:
    """Return rows as plain values, keys included, that `bring_back` writes again."""
    found: Texts = json.loads(serializers.serialize("json", rows))
    return found


def bring_back(texts: Texts) -> None:
    """Write rows as they were, under their own keys, whether they are there or not."""
    for one in serializers.deserialize("json", json.dumps(texts)):
        one.save()


def digest_of(row: models.Model) -> str:
    """Return what tells whether a row was touched."""
    return hashlib.sha256(serializers.serialize("json", [row]).encode()).hexdigest()


def pointing_to(model: type[models.Model], *, but: Collection[str] = ()) -> Iterator[_Pointer]:
    """Yield every foreign key to a model, by `app.model.field`, but for some models."""
    for relation in model._meta.related_objects:
        if relation.many_to_many or relation.related_model._meta.label in but:
            continue
        yield _Pointer(relation)


class _Pointer:
    """One foreign key that points to a model."""

    def __init__(self, relation: ForeignObjectRel) -> None:
        self.model: type[models.Model] = relation.related_model
        self.column: str = relation.field.name
        self.label = f"{self.model._meta.label}.{self.column}"

    def rows(self, key: int) -> models.QuerySet[models.Model]:
        """The rows that point to a row."""
        return self.model._base_manager.filter(**{self.column: key}).order_by("pk")


def point(model: type[models.Model], *, gone: int, kept: int, record: Record) -> None:
    """Let everything that points to `gone` point to `kept`; what would be there twice is dropped.

    `gone` and `kept` are keys of rows of a model; what moved and what was dropped is recorded.
    """
    for pointer in pointing_to(model):
        for row in pointer.rows(gone):
            before = as_texts([row])
            try:
                with transaction.atomic():
                    pointer.model._base_manager.filter(pk=row.pk).update(**{pointer.column: kept})
            except IntegrityError:
                record.dropped += before
                row.delete()
            else:
                record.moved.setdefault(pointer.label, []).append(row.pk)


def point_back(record: Record, *, to: int, labels: Collection[str]) -> None:
    """Let what moved point to where it came from."""
    for label in labels:
        app_model, _, column = label.rpartition(".")
        model = apps.get_model(app_model)
        model._base_manager.filter(pk__in=record.moved[label]).update(**{column: to})
