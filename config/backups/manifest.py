"""The manifest of a backup: its files with their hashes, and what the database held."""

from __future__ import annotations

import hashlib
import json
from dataclasses import asdict, dataclass, field
from pathlib import Path
from typing import Any

from registry.console import Refused

NAME = "manifest.json"
FORMAT = 1
CHUNK = 1 << 20


@dataclass(frozen=True, kw_only=True)
class Kept:
    """One file of the backup."""

    name: str
    bytes: int
    sha256: str


@dataclass(frozen=True, kw_only=True)
class Manifest:
    """What a backup is: when it was made, of what, its files, heads of ledgers, rows by table.

    `heads`: by program `SIZE:ROOT`, empty where nothing was sealed yet. `newest`: by app the last
    migration that the database has.
    """

    made_at: str
    engine: str
    server: str
    files: tuple[Kept, ...]
    heads: dict[str, str]
    rows: dict[str, int]
    newest: dict[str, str]
    format: int = field(default=FORMAT)

    def to_plain(self) -> dict[str, Any]:
        """Return what the file holds."""
        return asdict(self)


def digest_of(file: Path) -> Kept:
    """Return a file's name, size and SHA-256; it is read in pieces."""
    found, size = hashlib.sha256(), 0
    with file.open("rb") as opened:
        while piece := opened.read(CHUNK):
            found.update(piece)
            size += len(piece)
    return Kept(name=file.name, bytes=size, sha256=found.hexdigest())


def written(folder: Path, manifest: Manifest) -> None:
    """Write the manifest beside the files."""
    text = json.dumps(manifest.to_plain(), indent=2, sort_keys=True) + "\n"
    (folder / NAME).write_text(text, encoding="utf-8")


def verified(folder: Path) -> Manifest:
    """Return the manifest, each file held to its hash; Refused names what is missing or changed."""
    try:
        plain = json.loads((folder / NAME).read_text(encoding="utf-8"))
        manifest = Manifest(**{**plain, "files": tuple(Kept(**one) for one in plain["files"])})
    except FileNotFoundError as error:
        raise Refused(f"{folder} holds no {NAME}: it is no backup of ours.") from error
    except (ValueError, TypeError, KeyError) as error:
        raise Refused(f"{NAME} in {folder} cannot be read: {error}.") from error
    if manifest.format != FORMAT:
        raise Refused(f"The backup has format {manifest.format}; this version reads {FORMAT}.")
    for kept in manifest.files:
        file = folder / kept.name
        if "/" in kept.name or not file.is_file():
            raise Refused(f"{kept.name} is missing from the backup.")
        if digest_of(file) != kept:
            raise Refused(f"{kept.name} is not the file that was backed up: its hash differs.")
    return manifest
