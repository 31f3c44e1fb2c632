"""Headers as purveyors' spreadsheets spell them."""

import pytest

from registry.domain.fields import EXPORTED
from registry.domain.header_synonyms import REGISTRY_HEADERS, TESTER_HEADERS, spelling_key
from registry.domain.headers import header_key, recognise
from registry.header_hints import meant_field, unread_columns


def written(line: str) -> list[str]:
    return line.split(",")


def read_as(*headers: str, saved: dict[str, str] | None = None) -> dict[str, str | None]:
    return recognise(headers=headers, synonyms=REGISTRY_HEADERS, saved=saved or {}).public()


def test_the_sample_headers_are_all_known() -> None:
    headers = written(
        "Acct #,Customer,Svc Addr,City,ST,Zip,Premise Type,Hazard,Owner Name,Mailing Address,"
        "Mail City,Mail ST,Mail Zip,E-mail,BFP Type,Make,Model,Size,Serial No.,Location,Service,"
        "Install Date,Last Test,Status,Lat,Long,Comments"
    )
    assert list(read_as(*headers).values()) == [
        "account", "premises", "address", "city", "state", "zip", "use", "hazard", "owner_name",
        "owner_address", "owner_city", "owner_state", "owner_zip", "owner_email", "type", "maker",
        "model", "size_in", "serial", "location", "service", "installed_on", "last_passed_on",
        "status", "lat", "lon", "notes",
    ]  # fmt: skip


def test_the_names_of_an_export_are_headers_too() -> None:
    names = [field.value for field in EXPORTED]
    assert list(read_as(*names).values()) == names


@pytest.mark.parametrize(
    ("header", "field"),
    [("Account Number", "account"), ("Cust. No.", "account"), ("Service Address", "address"),
     ("Site Address", "address"), ("Facility Name", "premises"), ("Degree of Hazard", "hazard"),
     ("Manufacturer", "maker"), ("MFR", "maker"), ("S/N", "serial"), ("Serial Number", "serial"),
     ("serial_num", "serial"), ("Assembly Type", "type"), ("Device Type", "type"),
     ("Size (in)", "size_in"), ("Diameter", "size_in"), ("Date Installed", "installed_on"),
     ("Last Test Date", "last_passed_on"), ("Last Passing Test", "last_passed_on"),
     ("Pass/Fail", "result"), ("Next Test Due", "due_on"), ("Due Date", "due_on"),
     ("Latitude", "lat"), ("LONGITUDE", "lon"), ("Billing Address", "owner_address"),
     ("Property Owner", "owner_name"), ("Remarks", "notes"), ("Type of Service", "service"),
     ("Active?", "status"), ("ZIP Code", "zip"), ("  acct #  ", "account"),
     ("AccountNumber", "account"), ("serialNumber", "serial"), ("model_number", "model"),
     ("Install Date (mm/dd/yyyy)", "installed_on"), ("Hazard (High/Low)", "hazard"),
     ("BFD Manufacturer", "maker"), ("Backflow Assembly Install Date", "installed_on"),
     ("Serial\nNumber", "serial"), ("Size [inches]", "size_in"), ("SIZE*", "size_in")],
)  # fmt: skip
def test_the_trades_spellings_are_recognised(header: str, field: str) -> None:
    assert read_as(header) == {header: field}


def test_no_spelling_stands_for_two_fields() -> None:
    from registry.domain import header_synonyms

    for table in (header_synonyms._REGISTRY, header_synonyms._TESTERS):
        owners: dict[str, set[str]] = {}
        for field, said in table.items():
            for spelling in (field.value, *said.split("|")):
                owners.setdefault(spelling_key(spelling), set()).add(field.value)
        assert {key: fields for key, fields in owners.items() if len(fields) > 1} == {}


def test_a_plain_address_after_the_owners_name_is_the_owners() -> None:
    found = read_as(
        "Account", "Address", "City", "State", "Zip", "Owner", "Address (2)", "City (2)",
        "State (2)", "Zip (2)",
    )  # fmt: skip
    assert list(found.values())[6:] == ["owner_address", "owner_city", "owner_state", "owner_zip"]


def test_of_two_columns_for_one_field_the_more_telling_one_is_read() -> None:
    columns = recognise(
        headers=("Name", "Customer Name", "Serial"), synonyms=REGISTRY_HEADERS, saved={}
    )
    assert columns.public() == {"Name": None, "Customer Name": "premises", "Serial": "serial"}
    assert columns.twins == {"Name": "Customer Name"}
    told = unread_columns(columns=columns, synonyms=REGISTRY_HEADERS)
    assert [(warning.row, warning.column) for warning in told] == [(1, "Name")]
    assert "Customer Name" in told[0].message


def test_a_vague_header_gives_way_to_a_telling_one() -> None:
    found = read_as("Type", "Device Type", "Address", "Service Address", "Size", "BFP Size")
    assert found == {
        "Type": None,
        "Device Type": "type",
        "Address": None,
        "Service Address": "address",
        "Size": None,
        "BFP Size": "size_in",
    }


def test_a_programs_own_reading_goes_before_the_trades() -> None:
    saved = {header_key("Tag"): "serial", header_key("Serial"): ""}
    assert read_as("Tag", "Serial", "Size", saved=saved) == {
        "Tag": "serial",
        "Serial": None,
        "Size": "size_in",
    }


def test_a_misspelled_header_is_offered_and_neither_taken_nor_dropped() -> None:
    columns = recognise(headers=("Serail", "BFP Type", "Size"), synonyms=REGISTRY_HEADERS, saved={})
    assert columns.public()["Serail"] is None
    told = unread_columns(columns=columns, synonyms=REGISTRY_HEADERS)
    assert [warning.column for warning in told] == ["Serail"]
    assert "Did you mean serial?" in told[0].message


@pytest.mark.parametrize(
    ("header", "field"), [("Manufactuer", "maker"), ("Instal Dtae", "installed_on"),
                          ("Adress", "address"), ("Favourite colour", None), ("xy", None)]
)  # fmt: skip
def test_a_near_miss_is_guessed_for_a_person_alone(header: str, field: str | None) -> None:
    assert meant_field(header=header, synonyms=REGISTRY_HEADERS, taken=()) == field


def test_testers_lists_are_recognised_too() -> None:
    headers = written(
        "Certificate,Name,Firm,Issued By,Valid From,Valid To,Gauge Serial,Gauge Calibrated"
    )
    columns = recognise(headers=headers, synonyms=TESTER_HEADERS, saved={})
    assert list(columns.public().values()) == [
        "certificate", "name", "firm", "issued_by", "valid_from", "valid_to", "gauge_serial",
        "gauge_calibrated_on",
    ]  # fmt: skip
