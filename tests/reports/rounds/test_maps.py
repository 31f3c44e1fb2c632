"""Maps and the board as each person gets them: pins, ground, own day first, the way drawn."""

from __future__ import annotations

from pathlib import Path

import pytest
from django.conf import LazySettings
from django.test import Client

from registry import models
from registry.domain.kinds import Role
from reports.models import Round
from scheduling.roads.drawn import DrawnLine, beside, drawn_map, save_drawn
from tests.access.addresses import address
from tests.access.cast import Cast, made_cast
from tests.access.test_matrix import BACKEND

BOX = {"z": "15", "s": "46.8", "w": "-118.35", "n": "46.9", "e": "-118.2"}


@pytest.fixture
def cast(db: None) -> Cast:
    found = made_cast()
    tester = Round.objects.get(plan__program=found.home.program).tester
    models.Membership.objects.filter(role=Role.TESTER, firm=tester.firm).update(tester=tester)
    return found


def log_in(client: Client, cast: Cast, role: str) -> None:
    client.force_login(cast.people[role], backend=BACKEND)  # type: ignore[arg-type]


def test_a_tester_has_the_own_next_stop_first_with_map_telephone_and_test(
    cast: Cast, client: Client
) -> None:
    stop = Round.objects.get(plan__program=cast.home.program).stops.get()
    stop.premises.phone = "+1 509 555 0144"
    stop.premises.save()
    log_in(client, cast, "tester")
    page = client.get(address("rounds", cast.home)).content.decode()
    assert "Your next stop" in page
    assert f'href="geo:{stop.premises.lat},{stop.premises.lon}' in page
    assert 'href="tel:+15095550144"' in page
    assert "Enter the test of" in page
    assert page.index("Your next stop") < page.index("Week board")
    log_in(client, cast, "dispatcher")
    assert "Your next stop" not in client.get(address("rounds", cast.home)).content.decode()


def test_the_row_of_the_tester_comes_before_the_rows_of_others(cast: Cast, client: Client) -> None:
    mine = Round.objects.get(plan__program=cast.home.program)
    other = models.Tester.objects.create(firm=mine.firm, certificate="A-0", name="R. Odom")
    mine.pk, mine.tester = None, other
    mine.save()
    log_in(client, cast, "tester")
    rows = client.get(address("rounds", cast.home)).context["rows"]
    assert [tester.certificate for tester, _ in rows] == ["T-1", "A-0"]


def test_the_way_of_a_day_is_drawn_beside_the_board(cast: Cast, client: Client) -> None:
    one = Round.objects.get(plan__program=cast.home.program)
    log_in(client, cast, "administrator")
    answer = client.get(address("rounds", cast.home), {"round": str(one.pk)})
    assert answer.context["picked"].round == one
    stop = one.stops.get()
    page = answer.content.decode()
    assert f'data-visit="{stop.pk}"' in page
    assert f'data-key="{stop.pk}"' in page


def test_the_ground_is_the_extract_where_it_reaches_and_says_whose_it_is(
    cast: Cast, client: Client, tmp_path: Path, settings: LazySettings
) -> None:
    settings.ROADS = str(tmp_path / "roads.npz")
    log_in(client, cast, "administrator")
    where = address("map-ground", cast.home)
    bare = client.get(where, {**BOX, "base": "1"}).json()
    assert (bare["lines"], bare["extract"]) == ([], False)
    assert "from_addresses" in bare
    weir = ((46.85, -118.30), (46.85, -118.25))
    lines = [
        DrawnLine(kind="street", name="Weir Ln", points=weir),
        DrawnLine(kind="lane", name="Mews", points=((46.86, -118.30), (46.86, -118.25))),
    ]
    save_drawn(drawn_map(lines, attribution="© its makers"), beside(tmp_path / "roads.npz"))
    found = client.get(where, {**BOX, "base": "1"}).json()
    assert found["lines"] == [["street", "Weir Ln", [46.85, -118.3, 46.85, -118.25]]]
    assert found["said"] == ["Streets and water © its makers"]
    assert "from_addresses" not in found
    near = client.get(where, {**BOX, "z": "17"}).json()
    assert [line[1] for line in near["lines"]] == ["Weir Ln", "Mews"]
    assert client.get(where, {"s": "north"}).json() == {"lines": [], "said": []}


def test_county_lines_show_on_wide_maps_only(cast: Cast, client: Client) -> None:
    log_in(client, cast, "administrator")
    where = address("map-ground", cast.home)
    county = {"z": "9", "s": "46", "w": "-119.5", "n": "47.5", "e": "-117"}
    wide = client.get(where, county).json()
    assert {line[0] for line in wide["lines"]} == {"county"}
    assert wide["said"] == ["County lines: U.S. Census Bureau, 2017, public domain"]
    assert client.get(where, BOX).json()["lines"] == []


def test_the_map_is_a_drawing_without_scripts(cast: Cast, client: Client) -> None:
    log_in(client, cast, "administrator")
    page = client.get(address("map-page", cast.home)).content.decode()
    assert page.count("<svg viewBox") >= 2
    assert "marks.svg#" in page
    none = client.get(address("map-page", cast.home), {"q": "no such words"}).content.decode()
    assert "No premises of this list has coordinates." in none
