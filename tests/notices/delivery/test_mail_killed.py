"""Mail workers killed at random: no letter is lost, a repeat carries the same Message-ID."""

from __future__ import annotations

import ast
import random
import subprocess
import sys
import time
from collections import Counter
from typing import Any

import pytest

from tests.notices.delivery.posts import Sink, mail_server
from tests.own_database import PATIENCE, ROOT, environment_for, run_manage

FILL = """
from notices.models import Delivery, Letter, LetterFile
from tests.notices.delivery.posts import mailing_office, overdue_owner, run_first_day, set_up
with set_up(1):
    program = mailing_office()
    overdue_owner(program)
    run_first_day(program)
first = Letter.objects.select_related("file").get()
kept = first.file
letters = []
for number in range(1, {count}):
    fields = {{f.attname: getattr(first, f.attname) for f in Letter._meta.concrete_fields}}
    fields |= {{"id": None, "number": f"N{{number}}", "token_hash": f"{{number}}",
               "short_code": f"{{number}}"}}
    letters.append(Letter(**fields))
letters = Letter.objects.bulk_create(letters, batch_size=200)
LetterFile.objects.bulk_create(
    [LetterFile(letter=x, pdf=b"%PDF-1.7", sha256=kept.sha256, pages=1, stored_at=kept.stored_at)
     for x in letters], batch_size=500)
Delivery.objects.bulk_create(
    [Delivery(letter=x, channel="e-mail", address=f"{{x.pk}}@example.org",
              message_id=f"<{{x.pk:032x}}@waterclerk.example>") for x in letters], batch_size=300)
"""

WORK = """
from datetime import timedelta
from django.utils import timezone
from notices.delivery.outbox import send_waiting
from notices.delivery.smtp import MailServer
from registry.models import Program
with MailServer() as server:
    send_waiting(program=Program.objects.get(code="flats"), clock=timezone.now, server=server,
                 lease=timedelta(seconds=5))
"""

STATES = """
from collections import Counter
from notices.models import Delivery, Letter
print(dict(Counter(Delivery.objects.values_list("state", flat=True))))
print(Letter.objects.exclude(state="left").exclude(deliveries__state="held").count())
"""


def worker(database: str, port: int) -> subprocess.Popen[bytes]:
    settings = {
        "WATERCLERK_SMTP_HOST": "127.0.0.1",
        "WATERCLERK_SMTP_PORT": str(port),
        "WATERCLERK_SMTP_TLS": "no",
        "WATERCLERK_MAIL_FROM": "office@waterclerk.example",
    }
    return subprocess.Popen(
        [sys.executable, str(ROOT / "manage.py"), "shell", "--no-imports", "-c", WORK],
        env={**environment_for(database), **settings},
        cwd=ROOT,
        stdin=subprocess.DEVNULL,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    )


def disturbed(
    database: str, *, count: int, kills: int, workers: int, seed: int, pause_s: float = 0
) -> Sink:
    """Send `count` letters with workers that are killed a moment after they began to send."""
    chance, sink = random.Random(seed), Sink(pause_s=pause_s)
    fill = FILL.format(count=count)
    filling = ("shell", "--no-imports", "-c", fill)
    done = run_manage(*filling, database=database, check=False, timeout=PATIENCE)
    assert done.returncode == 0, done.stderr
    with mail_server(sink) as port:
        running: list[subprocess.Popen[bytes]] = []
        killed, ends = 0, time.monotonic() + PATIENCE
        while len(set(sink.ids)) < count and time.monotonic() < ends:
            running = [one for one in running if one.poll() is None]
            is_over = killed == kills and not running and bool(sink.taken)
            if is_over and not _sends_more(database, port, sink=sink):
                break  # what is left is held for a person
            while len(running) < workers:
                running.append(worker(database, port))
            before = len(sink.taken)
            while len(sink.taken) == before and any(one.poll() is None for one in running):
                time.sleep(0.01)
            if killed < kills and len(sink.taken) > before:
                time.sleep(chance.uniform(0.1, 0.3))
                victim = chance.choice(running)
                killed += victim.poll() is None
                victim.kill()
                victim.wait()
        for one in running:
            one.wait(PATIENCE)
        # What the last kill left behind is settled by the next wake-up.
        time.sleep(5.5)
        worker(database, port).wait(PATIENCE)
    assert killed == kills
    return sink


def _sends_more(database: str, port: int, *, sink: Sink) -> bool:
    """Whether a worker that nobody kills, once every lease has ended, still finds something."""
    before = len(sink.taken)
    time.sleep(5.5)
    worker(database, port).wait(PATIENCE)
    return len(sink.taken) > before


def check(sink: Sink, *, database: str, count: int, kills: int) -> None:
    ids = Counter(sink.ids)
    addresses: dict[str, set[str]] = {}
    for message in sink.taken:
        addresses.setdefault(str(message["Message-ID"]), set()).add(str(message["To"]))
    assert all(len(found) == 1 for found in addresses.values())
    asking = ("shell", "--no-imports", "-c", STATES)
    said = run_manage(*asking, database=database, timeout=PATIENCE).stdout
    assert said.splitlines()[-1] == "0"
    states = ast.literal_eval(said.splitlines()[-2])
    # One that was struck three times while it went is held for a person, never guessed at.
    assert set(states) <= {"left", "held"}
    assert sum(states.values()) == count
    held = states.get("held", 0)
    assert held <= kills // 3
    assert count - held <= len(ids) <= count  # none lost, and no letter under two names
    assert sum(ids.values()) - len(ids) <= kills


@pytest.mark.slow
@pytest.mark.database
def test_two_workers_killed_three_times_lose_nothing(request: Any) -> None:
    maker = request.getfixturevalue("_databases")
    with maker.fresh() as database:
        sink = disturbed(database, count=80, kills=3, workers=2, seed=20260105)
        check(sink, database=database, count=80, kills=3)


@pytest.mark.slow
@pytest.mark.database
def test_four_workers_that_nobody_kills_send_each_letter_once(request: Any) -> None:
    maker = request.getfixturevalue("_databases")
    with maker.fresh() as database:
        sink = disturbed(database, count=200, kills=0, workers=4, seed=20260107, pause_s=0.1)
        check(sink, database=database, count=200, kills=0)
        assert len(sink.taken) == 200
        assert len(sink.lines) > 1  # each worker keeps a line of its own: more than one did some


@pytest.mark.bench
def test_three_thousand_letters_and_twenty_three_kills(request: Any) -> None:
    maker = request.getfixturevalue("_databases")
    with maker.fresh() as database:
        sink = disturbed(database, count=3000, kills=23, workers=4, seed=20260106)
        check(sink, database=database, count=3000, kills=23)
        repeats = len(sink.taken) - 3000
        print(f"3,000 letters, 4 workers, 23 kills: 0 lost, {repeats} repeated")  # noqa: T201
