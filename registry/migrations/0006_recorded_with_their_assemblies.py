"""Premises and services kept before are as old as their first assembly."""

from typing import Any

from django.apps.registry import Apps
from django.db import migrations
from django.db.backends.base.schema import BaseDatabaseSchemaEditor
from django.db.models import Min, OuterRef, Subquery


def date_from_assemblies(apps: Apps, editor: BaseDatabaseSchemaEditor) -> None:
    assemblies: Any = apps.get_model("registry", "Assembly").objects
    for model, column in (("Premises", "premises"), ("ServiceConnection", "connection")):
        first = (
            assemblies.filter(**{column: OuterRef("pk")})
            .order_by()
            .values(column)
            .annotate(first=Min("created_at"))
            .values("first")
        )
        rows: Any = apps.get_model("registry", model).objects
        rows.filter(assemblies__isnull=False).update(created_at=Subquery(first))


class Migration(migrations.Migration):
    dependencies = [("registry", "0005_when_recorded")]

    operations = [migrations.RunPython(date_from_assemblies, migrations.RunPython.noop)]
