"""An owner whose water is ordered off reads it on the page, and what brings it back."""

from __future__ import annotations

import pytest
from django.test import Client

from notices.actions.shutoffs import call_off
from notices.domain.shutoffs import ShutoffState
from notices.links import token_of
from notices.models import Shutoff
from tests.notices.shutoff_cases import CLERK, ORDERED, prepared, signed

pytestmark = pytest.mark.django_db


def read(shutoff: Shutoff, language: str = "en") -> str:
    order = shutoff.order
    assert order is not None
    token = token_of(program_code=order.program.code, number=order.number)
    page = Client().get(f"/o/{token}?lang={language}")
    return " ".join(page.content.decode().replace("\u00a0", " ").split())


def test_signed_off_and_proved_are_said_each_in_its_words_and_in_spanish() -> None:
    shutoff = signed(prepared())
    where = shutoff.premises.address
    assert f"On February 13, 2026 this office ordered the water at {where} shut off." in read(
        shutoff
    )
    said = {
        ShutoffState.OFF: ("is shut off, by an order of February 13, 2026", "está cortada"),
        ShutoffState.PROVED: ("is to come back", "se va a restablecer"),
    }
    for state, (english, spanish) in said.items():
        Shutoff.objects.filter(pk=shutoff.pk).update(state=state.value)
        assert f"The water at {where} {english}" in read(shutoff)
        assert spanish in read(shutoff, "es")


def test_an_order_called_off_is_not_spoken_of_again() -> None:
    shutoff = signed(prepared())
    assert "ordered the water" in read(shutoff)
    call_off(shutoff, why="The test was in the post.", today=ORDERED, hand=CLERK)
    assert "ordered the water" not in read(shutoff)
