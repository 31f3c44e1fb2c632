"""The fields a spreadsheet of a registry, or of testers, can bring; their names are a promise."""

from enum import StrEnum


class RegistryField(StrEnum):
    """What a column of a registry can hold. The names of exported columns come first."""

    ACCOUNT = "account"
    PREMISES = "premises"
    ADDRESS = "address"
    CITY = "city"
    STATE = "state"
    ZIP = "zip"
    LAT = "lat"
    LON = "lon"
    USE = "use"
    HAZARD = "hazard"
    OWNER_NAME = "owner_name"
    OWNER_ADDRESS = "owner_address"
    OWNER_CITY = "owner_city"
    OWNER_STATE = "owner_state"
    OWNER_ZIP = "owner_zip"
    OWNER_EMAIL = "owner_email"
    SERVICE = "service"
    TYPE = "type"
    MAKER = "maker"
    MODEL = "model"
    SERIAL = "serial"
    SIZE_IN = "size_in"
    LOCATION = "location"
    INSTALLED_ON = "installed_on"
    LAST_PASSED_ON = "last_passed_on"
    STANDING = "standing"
    OPENS_ON = "opens_on"
    DUE_ON = "due_on"
    NOTES = "notes"
    # what is read, and never exported under a name of its own
    LAST_TESTED_ON = "last_tested_on"
    RESULT = "result"
    STATUS = "status"
    PROTECTS = "protects"
    CHEMICALS = "chemicals"
    PART_YEAR = "part_year"
    OWNER_PHONE = "owner_phone"
    PHONE = "phone"
    ADDRESS_NUMBER = "address_number"
    ADDRESS_UNIT = "address_unit"
    OWNER_ADDRESS_UNIT = "owner_address_unit"
    PERMIT_SPACE = "permit_space"
    TWIN = "twin"
    SHUTDOWN_TELL = "shutdown_tell"
    SHUTDOWN_DAYS = "shutdown_days"
    CALL_WHEN = "call_when"
    ASSIGNED_TO = "assigned_to"


EXPORTED = tuple(
    field
    for field in RegistryField
    if field
    not in {
        RegistryField.LAST_TESTED_ON,
        RegistryField.RESULT,
        RegistryField.STATUS,
        RegistryField.PROTECTS,
        RegistryField.CHEMICALS,
        RegistryField.PART_YEAR,
        RegistryField.OWNER_PHONE,
        RegistryField.PHONE,
        RegistryField.ADDRESS_NUMBER,
        RegistryField.ADDRESS_UNIT,
        RegistryField.OWNER_ADDRESS_UNIT,
        RegistryField.PERMIT_SPACE,
        RegistryField.TWIN,
        RegistryField.SHUTDOWN_TELL,
        RegistryField.SHUTDOWN_DAYS,
        RegistryField.CALL_WHEN,
        RegistryField.ASSIGNED_TO,
    }
)
"""The columns of an export, in order."""


class TesterField(StrEnum):
    """What a column of a testers' list can hold."""

    CERTIFICATE = "certificate"
    NAME = "name"
    FIRM = "firm"
    ISSUED_BY = "issued_by"
    VALID_FROM = "valid_from"
    VALID_TO = "valid_to"
    GAUGE_SERIAL = "gauge_serial"
    GAUGE_CALIBRATED_ON = "gauge_calibrated_on"
    CLASSES = "classes"
    FIRM_ADDRESS = "firm_address"
    FIRM_CITY = "firm_city"
    FIRM_STATE = "firm_state"
    FIRM_ZIP = "firm_zip"
    FIRM_EMAIL = "firm_email"
    FIRM_PHONE = "firm_phone"


def public_name(field: str) -> str:
    """The name a caller sees: a plain *last test* is stated as a last passing test."""
    return RegistryField.LAST_PASSED_ON if field == RegistryField.LAST_TESTED_ON else field
