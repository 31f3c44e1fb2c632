"""The pages before a plan: jobs, calls, assignments, what is not wanted, how testers work."""

from __future__ import annotations

import re
from datetime import date

import pytest
from django.contrib.auth import get_user_model
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client

from registry import models as rows
from registry.domain.kinds import Role
from registry.models import Assignment, Change, Firm, Membership
from reports.domain.map_squares import squares_around
from reports.models import CallMade, Job, NotForVisit, PlanningRules
from reports.rounds.ruled import ruled
from tests.reports.rounds.office import NOON, TODAY, Office

pytestmark = pytest.mark.django_db

BASE = "/p/flats/rounds/"


@pytest.fixture
def office() -> Office:
    office = Office()
    office.tester("T-1")
    office.tester("T-2", firm="Quill Backflow")
    return office


@pytest.fixture
def client(office: Office) -> Client:
    person = get_user_model().objects.create_user("maren")
    Membership.objects.create(user_id=person.pk, role=Role.ADMINISTRATOR, program=office.program)
    client = Client()
    client.force_login(person)
    return client


def only_jobs(office: Office) -> None:
    PlanningRules.objects.create(
        program=office.program, due_is_assigned=False, changed_at=NOON, by="x"
    )


def words_of(page: object) -> str:
    text = re.sub(r"<[^>]+>", " ", page.content.decode())  # type: ignore[attr-defined]
    return re.sub(r"\s+", " ", text.replace("\u00a0", " ").replace("&nbsp;", " "))


def test_who_asked_nobody_is_called_and_a_call_leads_to_a_job(
    office: Office, client: Client
) -> None:
    only_jobs(office)
    site = office.premises(name="Cooper Laundry", phone="509-555-0147", call_when="mornings")
    office.due(site)
    page = words_of(client.get(f"{BASE}calls/"))
    assert "Cooper Laundry" in page
    assert "509-555-0147" in page
    assert "mornings" in page
    answer = client.post(f"{BASE}calls/{site.pk}/", {"outcome": "ordered", "words": "yes"})
    assert answer["Location"] == f"{BASE}jobs/new/{site.pk}/"
    told = {
        "asked_by": "O. Larch", "asked_on": "2026-11-25", "covers_until": "2026-12-31",
        "bill_to": "Larch Court", "repair_up_to": "250.00",
    }  # fmt: skip
    client.post(answer["Location"], told, follow=True)
    job = Job.objects.get()
    assert (job.asked_by, str(job.repair_up_to), job.by) == ("O. Larch", "250.00", "maren")
    assert "Cooper Laundry" not in words_of(client.get(f"{BASE}calls/"))
    page = words_of(client.get(f"{BASE}jobs/"))
    assert "O. Larch" in page
    assert "$250.00" in page
    assert office.plan().json["planned"] == 1
    assert Change.objects.filter(what="job", program=office.program).exists()


def test_a_cancelled_job_is_on_the_call_list_again(office: Office, client: Client) -> None:
    only_jobs(office)
    site = office.premises(name="Cooper Laundry")
    office.due(site)
    job = Job.objects.create(
        program=office.program, premises=site, asked_by="x", asked_on=TODAY, recorded_at=NOON,
        by="x",
    )  # fmt: skip
    assert "Cooper Laundry" not in words_of(client.get(f"{BASE}calls/"))
    assert "is needed" in words_of(client.post(f"{BASE}jobs/{job.pk}/cancel/", {"why": ""}))
    client.post(f"{BASE}jobs/{job.pk}/cancel/", {"why": "sold"})
    assert "Cooper Laundry" in words_of(client.get(f"{BASE}calls/"))
    again = client.post(f"{BASE}jobs/{job.pk}/cancel/", {"why": "sold"})
    assert "It was cancelled already." in words_of(again)


def test_call_again_puts_off_and_no_holds_until_something_else_falls_due(
    office: Office, client: Client
) -> None:
    only_jobs(office)
    site = office.premises(name="Cooper Laundry")
    office.due(site)
    late = client.post(f"{BASE}calls/{site.pk}/", {"outcome": "again", "again_on": "2026-11-25"})
    assert "Say on which day after today" in words_of(late)
    client.post(f"{BASE}calls/{site.pk}/", {"outcome": "again", "again_on": "2026-12-02"})
    assert "To call again later" in words_of(client.get(f"{BASE}calls/"))
    client.post(f"{BASE}calls/{site.pk}/", {"outcome": "no", "words": "has somebody"})
    assert "Do not want it" in words_of(client.get(f"{BASE}calls/"))
    office.due(site, due_on=date(2026, 12, 20))
    page = words_of(client.get(f"{BASE}calls/"))
    assert "Do not want it" not in page
    assert "2 tests" in page
    assert CallMade.objects.count() == 2


def test_ticked_premises_are_assigned_and_taken_back(office: Office, client: Client) -> None:
    office.town(visits=3)
    sites = [one.its_assembly.premises_id for one in office.program.obligations.all()]
    quill = Firm.objects.get(name="Quill Backflow")
    client.post(f"{BASE}assign/", {"premises": sites[:2], "firm": quill.pk, "act": "assign"})
    assert set(Assignment.objects.values_list("premises_id", "firm__name", "how")) == {
        (pk, "Quill Backflow", "by hand") for pk in sites[:2]
    }
    office.plan()
    mine = {(row.premises_id, row.firm.name) for row in Assignment.objects.filter(ended_on=None)}
    assert {(pk, "Quill Backflow") for pk in sites[:2]} <= mine
    other = Firm.objects.exclude(pk=quill.pk).get()
    client.post(f"{BASE}assign/", {"premises": sites[:1], "firm": other.pk, "act": "assign"})
    first = Assignment.objects.filter(premises_id=sites[0], ended_on=None).exclude(how="plan")
    assert [row.firm.name for row in first] == [other.name]
    client.post(f"{BASE}assign/", {"premises": sites[:2], "act": "back"})
    assert not Assignment.objects.filter(ended_on=None).exclude(how="plan").exists()


def test_an_area_is_chosen_by_zip_street_or_square(office: Office, client: Client) -> None:
    for lat, street, code in ((46.80, "Aspen St", "99171"), (46.99, "Birch St", "99163-1234")):
        site = office.premises(lat=lat, address=f"1 {street}", name=street)
        type(site).objects.filter(pk=site.pk).update(zip=code)
        office.due(site)

    def found(query: str) -> set[str]:
        page = client.get(f"{BASE}assign/?{query}")
        return {row.premises.name for row in page.context["found"].rows}

    assert found("") == {"Aspen St", "Birch St"}
    assert found("zips=99163") == {"Birch St"}
    assert found("streets=aspen") == {"Aspen St"}
    assert found("square=A1") == {"Birch St"}  # the north-west corner
    assert found("square=A4") == {"Aspen St"}
    assert found("zips=10001") == set()


def test_a_drawn_area_lists_what_lies_in_it_and_assigns_nothing_before(
    office: Office, client: Client
) -> None:
    sites = [
        office.premises(lat=lat, address=f"{n} Aspen St", name=f"{n} Aspen St")
        for n, lat in enumerate((46.80, 46.81, 46.99))
    ]
    for site in sites:
        office.due(site)
    lon = float(sites[0].lon or 0)
    corners = f"46.79,{lon - 0.1};46.82,{lon - 0.1};46.82,{lon + 0.1};46.79,{lon + 0.1}"
    page = client.get(f"{BASE}assign/", {"area": corners})
    assert {row.premises.name for row in page.context["found"].rows} == {"0 Aspen St", "1 Aspen St"}
    assert not Assignment.objects.exists()
    firm = Firm.objects.get(name="Quill Backflow")
    client.post(f"{BASE}assign/?area={corners}", {"whole": "yes", "firm": firm.pk, "act": "assign"})
    assert set(Assignment.objects.values_list("premises_id", flat=True)) == {
        sites[0].pk,
        sites[1].pk,
    }
    refused = client.get(f"{BASE}assign/", {"area": "46.79,here"})
    assert refused.status_code == 422
    assert "is no corner" in words_of(refused)


def test_squares_are_named_from_the_north_west() -> None:
    squares = squares_around([(46.0, -119.0), (47.0, -118.0)])
    assert squares is not None
    assert squares.name_of(47.0, -119.0) == "A1"
    assert squares.name_of(46.0, -118.0) == "F4"
    assert squares.name_of(46.6, -118.5) == "D2"
    assert squares.name_of(48.0, -118.5) == ""
    assert squares_around([]) is None


def test_a_file_assigns_by_its_columns_and_tells_row_column_and_value(
    office: Office, client: Client
) -> None:
    site = office.premises(account="1001")
    office.due(site)
    lines = ["Account,Testing Company", "1001,quill backflow", "1002,Quill Backflow"]
    sheet = "\n".join([*lines, "1001,Nobody", "1001,"])
    file = SimpleUploadedFile("who.csv", sheet.encode())
    page = words_of(client.post(f"{BASE}assign/file/", {"file": file}))
    assert "1 premises named in the file, 1 newly assigned" in page
    assert "Row 3, Account, “1002”: No premises has this." in page
    assert "Row 4, Testing Company, “Nobody”: No approved testing company" in page
    assert Assignment.objects.get().how == "by file"
    wrong = SimpleUploadedFile("who.csv", b"Colour\nred\n")
    refused = client.post(f"{BASE}assign/file/", {"file": wrong})
    assert refused.status_code == 422
    assert "needs a column Account" in words_of(refused)


def test_what_is_not_wanted_is_kept_and_ended(office: Office, client: Client) -> None:
    site = office.premises(name="Cooper Laundry")
    office.due(site)
    where = f"{BASE}not-wanted/{site.pk}/"
    assert "Name a tester, a weekday or a day." in words_of(client.post(where, {"reason": "x"}))
    client.post(where, {"weekday": "0", "reason": "delivery day"})
    wish = NotForVisit.objects.get()
    assert "Nobody, on Mondays" in words_of(client.get(where))
    assert office.plan(days=1).json["planned"] == 0
    client.post(f"{BASE}not-wanted/{wish.pk}/end/")
    wish.refresh_from_db()
    assert wish.ended_by == "maren"
    assert office.plan(days=1).json["planned"] == 1


def test_how_a_tester_works_is_kept_and_planned_by(office: Office, client: Client) -> None:
    tester = rows.Tester.objects.get(certificate="T-1")
    told = {
        "hours": "mon 9:00-17:00", "days_off": "2026-12-24", "skills": ["confined space"],
        "lunch_minutes": "30", "lunch_from": "12:00", "lunch_to": "13:00", "most_visits": "6",
    }  # fmt: skip
    answer = client.post(f"{BASE}testers/{tester.pk}/", told)
    assert answer.status_code == 302, words_of(answer)
    tester.refresh_from_db()
    assert tester.hours == {"0": [["09:00", "17:00"]]}
    assert (tester.skills, tester.most_visits) == (["confined space"], 6)
    assert tester.days_off == ["2026-12-24"]
    office.town(visits=45)
    days = {one["tester"]: one for one in office.plan(days=1).json["rounds"]}
    assert days["T-1"]["start"][11:16] == "09:00"
    assert "12:00" <= days["T-1"]["lunch"][11:16] <= "12:30"
    wrong = client.post(f"{BASE}testers/{tester.pk}/", {"lunch_from": "13:00", "lunch_to": "12:00"})
    assert "It ends before it begins." in words_of(wrong)


def test_a_dispatcher_changes_the_own_companys_testers_only(office: Office) -> None:
    firm = Firm.objects.get(name="Quill Backflow")
    person = get_user_model().objects.create_user("dora")
    Membership.objects.create(user_id=person.pk, role=Role.DISPATCHER, firm=firm)
    client = Client()
    client.force_login(person)
    page = words_of(client.get(f"{BASE}testers/"))
    assert "Tester T-2" in page
    assert "Tester T-1" not in page
    client.post(f"{BASE}companies/{firm.pk}/", {"lunch_minutes": "45"})
    firm.refresh_from_db()
    assert firm.lunch_minutes == 45
    other = rows.Tester.objects.get(certificate="T-1")
    assert client.get(f"{BASE}testers/{other.pk}/").status_code == 404
    assert client.get(f"{BASE}assign/").status_code == 403


def test_how_days_are_planned_is_kept(office: Office, client: Client) -> None:
    office.town(visits=2)
    client.post(f"{BASE}rules/", {"due_is_assigned": "no", "places_by_zip": "on"})
    row = PlanningRules.objects.get()
    assert (row.due_is_assigned, row.learns_minutes, row.places_by_zip) == (False, False, True)
    assert row.stay_minutes == 10
    client.post(f"{BASE}rules/", {"due_is_assigned": "no", "stay_minutes": "25"})
    assert ruled(office.program).stay_minutes == 25
    assert office.plan().json["visits"] == 0
    assert "common practice" in words_of(client.get(f"{BASE}rules/"))


def test_the_board_and_the_day_tell_lunch_and_what_would_help(
    office: Office, client: Client
) -> None:
    Firm.objects.update(lunch_minutes=30)
    office.town(visits=30)
    office.due(office.premises(name="Far Off", lat=None, lon=None))
    office.plan(days=1)
    page = words_of(client.get(BASE))
    assert "lunch 1" in page
    assert "Far Off (would help: add latitude and longitude" in page
    assert "Minutes of visits: common practice." in page
    first = next(iter(re.findall(r"/p/flats/rounds/(\d+)/", client.get(BASE).content.decode())))
    assert ", lunch " in words_of(client.get(f"{BASE}{first}/"))
