"""The environment is read strictly: what cannot be understood is named, never guessed."""

from __future__ import annotations

from pathlib import Path

import pytest

from config.databases import database_settings
from config.environment import Environment


def environment(**values: str) -> Environment:
    return Environment(values=values)


def test_an_unset_variable_gives_the_default_and_no_fault() -> None:
    env = environment()
    assert env.whole("WATERCLERK_WORKERS", default=2, least=1, most=64) == 2
    assert env.yes("WATERCLERK_DEBUG", default=False) is False
    assert env.faults == []


@pytest.mark.parametrize("word", ["1", "yes", "TRUE", " on "])
def test_yes_is_said_in_several_ways(word: str) -> None:
    assert environment(WATERCLERK_DEBUG=word).yes("WATERCLERK_DEBUG", default=False) is True


@pytest.mark.parametrize("word", ["0", "no", "False", "off"])
def test_no_is_said_in_several_ways(word: str) -> None:
    assert environment(WATERCLERK_DEBUG=word).yes("WATERCLERK_DEBUG", default=True) is False


def test_a_word_that_is_neither_yes_nor_no_is_a_fault() -> None:
    env = environment(WATERCLERK_DEBUG="maybe")
    assert env.yes("WATERCLERK_DEBUG", default=False) is False
    assert [fault.variable for fault in env.faults] == ["WATERCLERK_DEBUG"]


@pytest.mark.parametrize("word", ["0", "65", "-1", "2.5", "²", "٣", "1e1", "0x2"])
def test_what_is_no_whole_number_in_bounds_is_a_fault(word: str) -> None:
    env = environment(WATERCLERK_WORKERS=word)
    assert env.whole("WATERCLERK_WORKERS", default=2, least=1, most=64) == 2
    assert len(env.faults) == 1


def test_both_bounds_are_allowed() -> None:
    for word in ("1", "64"):
        env = environment(WATERCLERK_WORKERS=word)
        assert env.whole("WATERCLERK_WORKERS", default=2, least=1, most=64) == int(word)
        assert env.faults == []


def test_a_choice_outside_its_list_is_a_fault_that_names_the_list() -> None:
    env = environment(WATERCLERK_MODE="prod")
    got = env.choice("WATERCLERK_MODE", among=("development", "production"), default="development")
    assert got == "development"
    assert "development, production" in env.faults[0].message


def test_a_misspelt_variable_of_ours_is_found_and_a_foreign_one_is_not() -> None:
    env = environment(WATERCLERK_MOD="production", HOME="/", WATERCLERK_MODE="production")
    env.text("WATERCLERK_MODE")
    assert env.unknown() == ["WATERCLERK_MOD"]


def test_without_an_address_the_data_live_in_one_file_of_the_project(tmp_path: Path) -> None:
    found = database_settings(environment(), root=tmp_path)
    assert found["ENGINE"] == "django.db.backends.sqlite3"
    assert found["NAME"] == str(tmp_path / "waterclerk.sqlite3")


def test_sqlite_takes_the_write_lock_first_and_loses_nothing_on_a_power_cut(
    tmp_path: Path,
) -> None:
    env = environment(DATABASE_URL=f"sqlite:///{tmp_path}/x.sqlite3")
    options = database_settings(env, root=tmp_path)["OPTIONS"]
    assert options["transaction_mode"] == "IMMEDIATE"
    assert "synchronous=FULL" in options["init_command"]
    assert "journal_mode=WAL" in options["init_command"]


@pytest.mark.parametrize("scheme", ["postgres", "postgresql"])
def test_postgresql_is_chosen_by_its_address(scheme: str, tmp_path: Path) -> None:
    env = environment(DATABASE_URL=f"{scheme}://clerk:p%40ss@db.invalid:5433/office")
    found = database_settings(env, root=tmp_path)
    assert found["ENGINE"] == "django.db.backends.postgresql"
    assert (found["USER"], found["PASSWORD"]) == ("clerk", "p@ss")
    assert (found["HOST"], found["PORT"], found["NAME"]) == ("db.invalid", 5433, "office")
    assert found["CONN_HEALTH_CHECKS"] is True


@pytest.mark.parametrize("address", ["mysql://a@b/c", "registry.sqlite3", "oracle://x"])
def test_an_address_of_another_kind_is_a_fault(address: str, tmp_path: Path) -> None:
    env = environment(DATABASE_URL=address)
    found = database_settings(env, root=tmp_path)
    assert [fault.variable for fault in env.faults] == ["DATABASE_URL"]
    assert found["ENGINE"] == "django.db.backends.sqlite3"
