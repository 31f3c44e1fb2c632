"""Signatures drawn before their hash was kept get it now, from the bytes as they are."""

import hashlib
from typing import Any

from django.apps.registry import Apps
from django.db import migrations
from django.db.backends.base.schema import BaseDatabaseSchemaEditor


def hash_signatures(apps: Apps, editor: BaseDatabaseSchemaEditor) -> None:
    entries: Any = apps.get_model("reports", "FieldEntry").objects
    rows = entries.filter(signature__isnull=False, signature_sha256="")
    for pk in list(rows.values_list("pk", flat=True)):
        one = entries.filter(pk=pk)
        png = bytes(one.values_list("signature", flat=True).get())
        if png:
            one.update(signature_sha256=hashlib.sha256(png).hexdigest())


class Migration(migrations.Migration):
    dependencies = [("reports", "0026_hashes_of_signatures")]

    operations = [migrations.RunPython(hash_signatures, migrations.RunPython.noop)]
