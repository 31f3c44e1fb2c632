"""Wrong settings stop the program with an id and a hint; right ones never do."""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Mapping

import pytest

from tests.own_database import ROOT, environment_without_settings

SECRET, LINK = "pages-" + "qwertyui" * 6, "links-" + "asdfghjk" * 6
PRODUCTION = {
    "WATERCLERK_MODE": "production",
    "WATERCLERK_SECRET_KEY": SECRET,
    "WATERCLERK_LINK_KEY": LINK,
    "WATERCLERK_BASE_URL": "https://office.invalid",
    "WATERCLERK_SMTP_HOST": "mail.invalid",
    "WATERCLERK_MAIL_FROM": "office@example.org",
}


def run(*command: str, settings: Mapping[str, str]) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, *command],
        env={**environment_without_settings(), **settings},
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=False,
    )


def check(**settings: str) -> subprocess.CompletedProcess[str]:
    return run("manage.py", "check", settings=settings)


def test_with_nothing_set_the_program_runs() -> None:
    assert check().returncode == 0


def test_with_everything_set_production_runs_without_a_word() -> None:
    done = run("manage.py", "check", "--deploy", "--fail-level", "WARNING", settings=PRODUCTION)
    assert done.returncode == 0, done.stderr


@pytest.mark.parametrize("missing", ["WATERCLERK_SECRET_KEY", "WATERCLERK_LINK_KEY"])
def test_production_refuses_to_run_without_a_secret(missing: str) -> None:
    done = check(**{name: value for name, value in PRODUCTION.items() if name != missing})
    assert done.returncode != 0
    assert "waterclerk.E003" in done.stderr
    assert missing in done.stderr


@pytest.mark.parametrize("missing", ["WATERCLERK_SECRET_KEY", "WATERCLERK_LINK_KEY"])
def test_production_refuses_to_serve_without_a_secret(missing: str) -> None:
    settings = {name: value for name, value in PRODUCTION.items() if name != missing}
    done = run("-c", "import config.wsgi", settings=settings)
    assert done.returncode != 0
    assert "ImproperlyConfigured" in done.stderr


def test_production_refuses_one_secret_for_both_jobs() -> None:
    done = check(**{**PRODUCTION, "WATERCLERK_LINK_KEY": SECRET})
    assert "waterclerk.E003" in done.stderr


@pytest.mark.parametrize(
    ("settings", "code"),
    [
        ({"WATERCLERK_MODE": "prod"}, "waterclerk.E001"),
        ({"WATERCLERK_DEBUG": "perhaps"}, "waterclerk.E001"),
        ({"DATABASE_URL": "mysql://a@b/c"}, "waterclerk.E001"),
        ({"WATERCLERK_LANGUAGE": "fr"}, "waterclerk.E001"),
        ({"WATERCLERK_SECRET": "misspelt"}, "waterclerk.E002"),
        ({"WATERCLERK_BASE_URL": "office"}, "waterclerk.E004"),
        ({**PRODUCTION, "WATERCLERK_BASE_URL": "http://office.invalid"}, "waterclerk.E005"),
        ({"WATERCLERK_TASK_TIMEOUT": "2400"}, "waterclerk.E006"),
    ],
)
def test_a_wrong_setting_has_an_id_and_a_hint(settings: dict[str, str], code: str) -> None:
    done = check(**settings)
    assert done.returncode != 0
    assert code in done.stderr
    assert "HINT" in done.stderr


def test_a_command_with_wrong_settings_does_nothing_and_says_so_in_json() -> None:
    done = run(
        "manage.py", "program_settings", "--program", "x", "--json", settings={"WATERCLERK_X": "1"}
    )
    assert done.returncode == 2
    assert "waterclerk.E002" in done.stdout


def test_production_without_a_mail_server_is_warned() -> None:
    done = check(**{k: v for k, v in PRODUCTION.items() if k != "WATERCLERK_SMTP_HOST"})
    assert done.returncode == 0
    assert "waterclerk.W007" in done.stderr


@pytest.mark.parametrize(
    ("variable", "value"),
    [
        ("WATERCLERK_MAIL_FROM", "the office"),
        ("WATERCLERK_BOUNCE_ADDRESS", "bounces"),
        ("WATERCLERK_BOUNCE_ADDRESS", "a b@example.org"),
    ],
)
def test_an_address_that_is_none_is_a_fault(variable: str, value: str) -> None:
    done = check(**{variable: value})
    assert done.returncode == 1
    assert "waterclerk.E008" in done.stderr
    assert variable in done.stderr


def test_a_sender_may_have_a_name_and_a_mail_server_wants_one_of_the_office() -> None:
    named = {"WATERCLERK_MAIL_FROM": "Flats Water <Office@Flats.example>"}
    assert "waterclerk" not in check(**named).stderr
    done = check(WATERCLERK_SMTP_HOST="mail.flats.example")
    assert done.returncode == 0
    assert "waterclerk.W009" in done.stderr


def test_static_files_can_be_collected_for_production(
    tmp_path_factory: pytest.TempPathFactory,
) -> None:
    there = str(tmp_path_factory.mktemp("static"))
    script = (
        "import django; django.setup()\n"
        "from django.conf import settings; from django.core.management import call_command\n"
        f"settings.STATIC_ROOT = {there!r}\n"
        "call_command('collectstatic', verbosity=0, interactive=False)"
    )
    done = run("-c", script, settings=PRODUCTION)
    assert done.returncode == 0, done.stderr[-2000:]
