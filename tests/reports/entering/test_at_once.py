"""One id sent by two hands at the same moment is one row."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime
from threading import Barrier

import pytest
from django.db import connection

from registry.changes import Hand
from reports.actions.entries import FROM_DEVICE, Sender, take_entry
from reports.domain.entry_body import read_body
from reports.models import FieldEntry, FieldTest
from tests.access.cast import TODAY, made_cast
from tests.reports.entering.conftest import record

pytestmark = [pytest.mark.postgres, pytest.mark.django_db(transaction=True)]


def test_two_threads_with_one_id_store_one_row() -> None:
    program = made_cast().home.program
    body = read_body(record())
    ready = Barrier(2)

    def run(by: str) -> str:
        try:
            ready.wait(timeout=20)
            hand = Hand(by=by, at=datetime(2026, 11, 25, 20, tzinfo=UTC))
            sender = Sender(user_id=None, channel=FROM_DEVICE, hand=hand, today=TODAY)
            taken = take_entry(program=program, body=body, assembly=None, sender=sender)
            return f"{taken.entry.receipt} {taken.is_first}"
        finally:
            connection.close()

    with ThreadPoolExecutor(max_workers=2) as pool:
        told = sorted(pool.map(run, ("one", "two")))
    receipts = {one.split()[0] for one in told}
    assert len(receipts) == 1
    assert sorted(one.split()[1] for one in told) == ["False", "True"]
    assert FieldEntry.objects.filter(client_id=body.client_id).count() == 1
    assert FieldTest.objects.filter(initial__relief="2.4").count() == 1
