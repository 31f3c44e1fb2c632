"""Finds a chromium for the browser tests and the pictures of the README."""

from __future__ import annotations

import os
import shutil

NAMES = ("chromium", "chromium-browser", "google-chrome", "google-chrome-stable")

# It draws pages of ours from loopback; it need not and may not call home.
ARGUMENTS = (
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--disable-dev-shm-usage",
)


def chromium_path() -> str | None:
    """Return the program named by CHROMIUM, or the first one installed; None without."""
    named = os.environ.get("CHROMIUM")
    if named:
        return named
    return next((path for name in NAMES if (path := shutil.which(name))), None)
