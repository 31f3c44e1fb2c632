"""A backup is whole, is brought back into a new database only, and is checked there by its head."""

from __future__ import annotations

import json
import os
import shutil
from collections.abc import Iterator
from datetime import date
from io import StringIO
from pathlib import Path
from typing import Any
from urllib.parse import quote

import pytest
from django.core.management import call_command
from django.db import connection

from config.backups import engines
from config.backups.restoring import asked_there
from notices.actions.day import run_day
from notices.models import LetterFile
from registry.console import Refused
from reports.ledger.sealing import head_of
from tests.notices.offices import START, assembly, office, owner, premises
from tests.reports.test_ledger import NOW, OVERDUE

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.database]


def answered(*args: str) -> tuple[int, Any]:
    said, code = StringIO(), 0
    try:
        call_command(*args, "--json", stdout=said, stderr=StringIO())
    except SystemExit as ended:
        code = int(ended.code or 0)
    return code, json.loads(said.getvalue())


@pytest.fixture
def kept(tmp_path: Path) -> Path:
    """A backup of a small office with two letters."""
    program = office()
    for number in (1, 2):
        place = premises(program, number, of=owner(program, f"Owner {number}"))
        assembly(place, f"S{number}", facts=OVERDUE)
    run_day(program=program, as_of=START, now=NOW)
    code, made = answered("backup", str(tmp_path / "kept"))
    assert (code, made["heads"]) == (0, {"flats": head_of(program)})
    assert made["rows"]["notices.letterfile"] == LetterFile.objects.count() == 2
    return tmp_path / "kept"


@pytest.fixture
def empty(tmp_path: Path) -> Iterator[str]:
    """The address of a new database of the engine under test."""
    if connection.vendor == "sqlite":
        yield f"sqlite:///{tmp_path / 'new.sqlite3'}"
        return
    told = connection.settings_dict
    name = f"brought_back_{os.getpid()}"  # tests run beside each other on one server
    with connection.cursor() as cursor:
        cursor.execute(f"DROP DATABASE IF EXISTS {name}")
        cursor.execute(f"CREATE DATABASE {name}")
    port = f":{told['PORT']}" if told["PORT"] else ""
    secret = f":{quote(told['PASSWORD'], safe='')}" if told["PASSWORD"] else ""
    user = f"{told['USER']}{secret}"
    yield f"postgres://{user}@{quote(told['HOST'], safe='')}{port}/{name}"
    with connection.cursor() as cursor:
        cursor.execute(f"DROP DATABASE {name}")


def test_it_comes_back_whole_into_a_new_database_and_into_no_other(kept: Path, empty: str) -> None:
    code, said = answered("restore_backup", str(kept), "--into", empty)
    assert (code, said.get("restored"), said.get("differences")) == (0, True, []), said
    code, said = answered("restore_backup", str(kept), "--into", empty)
    assert code == 2
    assert "nothing is overwritten" in said["error"]
    day = date(2026, 2, 15).isoformat()
    told = asked_there(empty, "run_day", "--program", "flats", "--as-of", day, "--json")
    assert json.loads(told)["letters"] == 2  # the next overdue notice of each, weeks on


def test_a_backup_overwrites_none_and_one_that_was_changed_is_refused(kept: Path) -> None:
    code, said = answered("backup", str(kept))
    assert code == 2
    assert "exists already" in said["error"]
    assert answered("restore_backup", str(kept))[0] == 0
    (file,) = [one for one in kept.iterdir() if one.name != "manifest.json"]
    with file.open("r+b") as opened:
        opened.seek(4000)
        byte = opened.read(1)
        opened.seek(4000)
        opened.write(bytes([byte[0] ^ 1]))
    code, said = answered("restore_backup", str(kept))
    assert code == 2
    assert "its hash differs" in said["error"]


def test_rows_cut_off_before_the_copy_was_taken_show_against_the_manifest(
    kept: Path, empty: str
) -> None:
    """Who forges the copy and its hash still has the head and the counts against him."""
    manifest = json.loads((kept / "manifest.json").read_text())
    size, _, root = manifest["heads"]["flats"].partition(":")
    manifest["heads"]["flats"] = f"{int(size) + 2}:{root}"
    manifest["rows"]["notices.letter"] += 1
    (kept / "manifest.json").write_text(json.dumps(manifest))
    code, said = answered("restore_backup", str(kept), "--into", empty)
    assert code == 1, said
    assert "notices.letter: 3 in the backup, 2 as restored." in said["differences"]
    assert any("the newest 2 entries are gone" in one for one in said["differences"])


@pytest.mark.parametrize(
    ("into", "words"),
    [("mysql://a/b", "Write sqlite:"), ("postgres:///x", "backup is of sqlite")],
)
def test_an_address_of_another_kind_is_refused(kept: Path, into: str, words: str) -> None:
    if connection.vendor != "sqlite":
        into, words = (
            ("sqlite:////x", "backup is of postgresql") if "post" in into else (into, words)
        )
    code, said = answered("restore_backup", str(kept), "--into", into)
    assert code == 2
    assert words in said["error"]


def test_without_postgresqls_programs_it_says_what_to_install(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(shutil, "which", lambda _name: None)
    with pytest.raises(Refused, match="pg_dump is not on this machine: install"):
        engines.postgres_dumped({"NAME": "x"}, to=Path("x"), snapshot="1", server=15)
