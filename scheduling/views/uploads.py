"""A file between preview and bringing in: kept an hour among the sessions, for one person."""

from __future__ import annotations

import base64
import hashlib
import zlib
from dataclasses import dataclass
from importlib import import_module
from typing import Any

from django.conf import settings
from django.contrib.sessions.backends.base import SessionBase
from django.core.files.uploadedfile import UploadedFile
from django.http import HttpRequest

from registry.models import Change
from scheduling.views.desk import Desk

AN_HOUR = 3600
MOST_BYTES = 8 * 1024 * 1024


@dataclass(frozen=True, kw_only=True)
class Upload:
    """A file with the state of the registry it was previewed against."""

    token: str
    name: str
    data: bytes
    revision: int

    @property
    def sha256(self) -> str:
        """The file's digest."""
        return hashlib.sha256(self.data).hexdigest()


def session_store(token: str | None = None) -> SessionBase:
    """What is kept for an hour, under a token of 32 random characters."""
    # Among the sessions, so that every web process of every host finds it and it ends by itself.
    engine = import_module(settings.SESSION_ENGINE)
    store: SessionBase = engine.SessionStore(token)
    return store


def kept_for(desk: Desk, *, token: str, key: str) -> dict[str, Any] | None:
    """What is kept under a token, if this person kept it for this program within the hour."""
    if not (token.isascii() and token.isalnum() and 8 <= len(token) <= 40):
        return None
    kept: dict[str, Any] | None = session_store(token).get(key)
    if not kept or (kept["program"], kept["person"]) != (desk.program.pk, desk.person.pk):
        return None
    return kept


def revision_of(desk: Desk) -> int:
    """A number that rises with every change of the program's registry."""
    newest = (
        Change.objects.filter(program=desk.program).order_by("-pk").values_list("pk", flat=True)
    )
    return newest.first() or 0


def keep_upload(desk: Desk, *, name: str, data: bytes) -> Upload:
    """Keep a file for an hour; its token is 32 random characters."""
    revision = revision_of(desk)
    store = session_store()
    store["upload"] = {
        "name": name,
        "data": base64.b64encode(zlib.compress(data)).decode("ascii"),
        "program": desk.program.pk,
        "person": desk.person.pk,
        "revision": revision,
    }
    store.set_expiry(AN_HOUR)
    store.create()
    return Upload(token=store.session_key or "", name=name, data=data, revision=revision)


def kept_upload(desk: Desk, token: str) -> Upload | None:
    """The file of a token, if this person kept it for this program within the hour."""
    kept = kept_for(desk, token=token, key="upload")
    if kept is None:
        return None
    data = zlib.decompress(base64.b64decode(kept["data"]))
    return Upload(token=token, name=kept["name"], data=data, revision=kept["revision"])


def drop_upload(token: str) -> None:
    """Forget a file that was brought in."""
    session_store(token).delete(token)


def chosen_file(request: HttpRequest) -> tuple[UploadedFile[Any] | None, str]:
    """The file a form brought, or None with the sentence that says what is wrong."""
    file = request.FILES.get("file")
    if file is None or not isinstance(file, UploadedFile):
        return None, "No file was chosen. Choose a CSV or XLSX file."
    if not file.size:
        return None, "The file is empty. Choose the sheet with its rows."
    if file.size > MOST_BYTES:
        return None, "The file is larger than 8 MB. Split it, or have it loaded by the command."
    return file, ""
