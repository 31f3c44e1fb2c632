"""What a device keeps so that the form opens without signal: its files, and the keeper's script."""

from __future__ import annotations

import hashlib
import json
from functools import cache
from pathlib import Path

from django.conf import settings
from django.contrib.staticfiles import finders
from django.templatetags.static import static

from reports.domain.entry_body import FORM_VERSION

_CSS = ("fonts", "tokens", "page", "parts", "forms", "drawings", "print", "entering")
_FONTS = (
    "source-sans-3-latin-wght-normal",
    "source-sans-3-latin-wght-italic",
    "source-serif-4-latin-opsz-normal",
    "source-serif-4-latin-opsz-italic",
)
_SCRIPTS = (
    *("store", "outbox", "signal", "figures", "judge", "pictures", "verdicts", "form", "ready"),
)
_FILES = (
    *(f"waterclerk/css/{name}.css" for name in _CSS),
    *(f"waterclerk/fonts/{name}.woff2" for name in _FONTS),
    *(f"waterclerk/js/entering/{name}.js" for name in _SCRIPTS),
    *("waterclerk/marks.svg", "waterclerk/icon.svg", "waterclerk/caret.svg"),
    "waterclerk/caret-light.svg",
    "django_htmx/htmx-2.min.js",
)
_WORKER = "waterclerk/js/entering/worker.js"


def assets() -> list[str]:
    """The addresses of every file that the pages of entering need."""
    return [static(name) for name in _FILES]


@cache
def build() -> str:
    """Which pages and files these are: their form version and a digest of their contents."""
    digest = hashlib.sha256(FORM_VERSION.encode())
    for name in (*_FILES, _WORKER):
        digest.update(_content(name))
    for path in sorted(_templates()):
        digest.update(path.read_bytes())
    return f"{FORM_VERSION}-{digest.hexdigest()[:10]}"


def worker_text() -> str:
    """The keeper's script with its build and its files set before it: a new build, a new text."""
    head = f"self.BUILD = {json.dumps(build())};\nself.ASSETS = {json.dumps(assets())};\n"
    return head + _content(_WORKER).decode()


def _content(name: str) -> bytes:
    found = finders.find(name)
    return Path(str(found)).read_bytes() if found else b""


def _templates() -> list[Path]:
    return list((Path(settings.BASE_DIR) / "reports/templates/reports/entering").glob("*.html"))
