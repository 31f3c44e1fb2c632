"""Findings that files brought were stated, not made on the day of the load."""

from typing import Any

from django.apps.registry import Apps
from django.db import migrations
from django.db.backends.base.schema import BaseDatabaseSchemaEditor


def mark_stated(apps: Apps, editor: BaseDatabaseSchemaEditor) -> None:
    rows: Any = apps.get_model("registry", "HazardAssessment").objects
    rows.filter(finding__startswith="As stated in a ").update(is_stated=True)


class Migration(migrations.Migration):
    dependencies = [("registry", "0007_surveyed_or_stated")]

    operations = [migrations.RunPython(mark_stated, migrations.RunPython.noop)]
