"""Tests that kill processes need a database of their own: here is that they get one."""

from __future__ import annotations

import json

import pytest

from tests.own_database import run_manage


def test_a_command_in_a_process_of_its_own_finds_every_table(own_database: str) -> None:
    done = run_manage("migrate", "--check", database=own_database)
    assert done.returncode == 0, done.stderr


def test_an_own_database_starts_empty(own_database: str) -> None:
    question = "from django.contrib.auth.models import User; print(User.objects.count())"
    done = run_manage("shell", "-v0", "-c", question, database=own_database)
    assert json.loads(done.stdout) == 0


@pytest.mark.postgres
def test_the_second_run_is_really_on_postgresql(own_database: str) -> None:
    question = "from django.db import connection; print(connection.vendor)"
    done = run_manage("shell", "-v0", "-c", question, database=own_database)
    assert done.stdout.strip() == "postgresql"
