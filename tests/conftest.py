"""What every test may lean on: which database, which browser, and databases of one's own."""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from django.conf import settings
from hypothesis import HealthCheck
from hypothesis import settings as property_settings

from tests.chromium import ARGUMENTS, chromium_path
from tests.own_database import DatabaseMaker, database_maker

# The playwright library keeps an event loop in the test's thread; Django's guard
# against blocking calls inside one would refuse every query of a browser test.
os.environ.setdefault("DJANGO_ALLOW_ASYNC_UNSAFE", "1")

# The same examples on every machine and in every run, and no judging by the clock: a property
# that fails does so for everybody, and a busy machine fails nobody. HYPOTHESIS_PROFILE=default
# searches anew.
property_settings.register_profile(
    "house",
    derandomize=True,
    deadline=None,
    suppress_health_check=[HealthCheck.too_slow],
)
property_settings.load_profile(os.environ.get("HYPOTHESIS_PROFILE", "house"))

NEEDS_DATABASE = {"db", "transactional_db", "live_server", "own_database", "client"}


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Mark what touches the database; skip what this machine or this run cannot do."""
    on_postgres = "postgresql" in settings.DATABASES["default"]["ENGINE"]
    for item in items:
        if item.get_closest_marker("django_db") or NEEDS_DATABASE & set(_fixtures(item)):
            item.add_marker(pytest.mark.database)
        if item.get_closest_marker("postgres") and not on_postgres:
            item.add_marker(pytest.mark.skip(reason="runs on PostgreSQL, by tests.on_postgres"))
        if item.get_closest_marker("browser") and chromium_path() is None:
            item.add_marker(pytest.mark.skip(reason="no chromium"))


def pytest_sessionstart(session: pytest.Session) -> None:
    """Refuse to go without a browser where everything is required."""
    if os.environ.get("REQUIRE_ALL") and chromium_path() is None:
        pytest.exit("no chromium, and REQUIRE_ALL is set", returncode=1)


def pytest_terminal_summary(terminalreporter: Any) -> None:
    """Say loudly, once, that the browser tests did not run."""
    if chromium_path() is None:
        terminalreporter.write_line("!!! NO CHROMIUM: the browser tests did not run", red=True)


def _fixtures(item: pytest.Item) -> list[str]:
    return list(getattr(item, "fixturenames", ()))


@pytest.fixture(scope="session")
def browser_type_launch_args() -> dict[str, Any]:
    """Start the chromium of this machine instead of one that playwright would download."""
    return {"executable_path": chromium_path(), "args": list(ARGUMENTS)}


@pytest.fixture(scope="session")
def _databases(tmp_path_factory: pytest.TempPathFactory) -> Iterator[DatabaseMaker]:
    """One migrated database per session, copied for whoever asks."""
    with database_maker(
        server=settings.DATABASES["default"], folder=tmp_path_factory.mktemp("databases")
    ) as maker:
        yield maker


@pytest.fixture
def own_database(_databases: DatabaseMaker) -> Iterator[str]:
    """Yield the DATABASE_URL of an empty, migrated database that only this test knows.

    For tests that start processes of their own and may kill them; in the engine of
    this run. The test's own connection does not see it.
    """
    with _databases.fresh() as address:
        yield address


@pytest.fixture
def out(tmp_path: Path) -> Path:
    """Return an empty folder for what a command writes."""
    folder = tmp_path / "out"
    folder.mkdir()
    return folder
