"""The items of a field test form: every thing a report must carry, in the order it is met on site.

The list is the union of what offices ask for (WAC 246-292-036, Austin, New York, Illinois, Iowa
City, Burnaby); what not every one asks for says "if known".
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from registry.domain.kinds import AssemblyType, Protects
from reports.domain.entry_item import Item, Kind, Part
from reports.domain.limits import BODIES, DETECTORS, Family
from reports.domain.readings import Unit
from reports.domain.visits import CAUSE_WORDS

YES_NO = (("yes", "Yes"), ("no", "No"))
SHUTOFF1 = "shutoff1_tight"
SHUTOFF2 = "shutoff2_tight"
RUNNING = "relief_running"
UNTESTED = "not_tested"
INSTALLED = "installed"

CAUSES = (("", "It was tested"), *((one.value, words) for one, words in CAUSE_WORDS.items()))
"""Whether it could be tested, and if not, why."""

_P, _A, _V = Part.PLACE, Part.ASSEMBLY, Part.VISIT

_ITEMS = (
    Item(name="premises", header="Premises", label="Name of the premises", part=_P),
    Item(
        name="address",
        header="Service address",
        label="Service address",
        part=_P,
        missing="Write the address where the assembly stands.",
        only_unknown=True,
    ),
    Item(
        name="contact",
        header="Owner or representative",
        label="Owner or representative, and how to reach them",
        part=_P,
    ),
    Item(
        name="serial",
        header="Serial",
        label="Serial on the tag",
        part=_A,
        missing="Write the serial on the assembly’s tag.",
        most=120,
    ),
    Item(name="maker", header="Make", label="Maker", part=_A, most=120),
    Item(name="model", header="Model", label="Model", part=_A, most=120),
    Item(name="size", header="Size", label="Size, inches", part=_A, most=20),
    Item(name="location", header="Place on site", label="Where on the site it is", part=_A),
    Item(
        name="protects",
        header="Protects",
        label="What it protects",
        part=_A,
        kind=Kind.CHOICE,
        choices=(
            (Protects.CONTAINMENT.value, "The main"),
            (Protects.ISOLATION.value, "A fixture"),
        ),
    ),
    Item(name="protects_from", header="Protects from", label="From what hazard, and why", part=_A),
    Item(
        name=INSTALLED,
        header="Installed",
        label="The assembly is",
        part=_A,
        kind=Kind.CHOICE,
        choices=(("existing", "Existing"), ("new", "New"), ("replacement", "Replacement")),
    ),
    Item(
        name="old_serial",
        header="Old serial",
        label="Serial of the one it replaces",
        part=_A,
        missing="Write the serial of the one it replaces, or “unknown”.",
        when=(INSTALLED, "replacement"),
        most=120,
    ),
    Item(
        name="proper",
        header="Properly installed",
        label="Is it properly installed?",
        part=_A,
        kind=Kind.CHOICE,
        choices=YES_NO,
        help="Way up, height, air gap under the relief valve, frost and flood.",
    ),
    Item(
        name="improper",
        header="Installation faults",
        label="What is wrong with it",
        part=_A,
        missing="Say what is wrong: way up, height, air gap, frost, flood.",
        when=("proper", "no"),
        kind=Kind.LONG,
    ),
    Item(
        name="way_around",
        header="Open way around it",
        label="Is there an open way around it?",
        part=_A,
        kind=Kind.CHOICE,
        choices=(("no", "No"), ("yes", "Yes")),
        help="A pipe or hose past it, whether or not it could be tested.",
    ),
    Item(
        name="tested_on",
        header="Test date",
        label="Date of the test",
        part=_V,
        kind=Kind.DATE,
        missing="Write the day of the test.",
    ),
    Item(
        name="tested_at",
        header="Time",
        label="Time",
        part=_V,
        kind=Kind.TIME,
        missing="Write the time of the test, as 10:40.",
    ),
    Item(
        name="tester_name",
        header="Tester name",
        label="Tester",
        part=_V,
        missing="Write the tester’s name.",
        most=200,
    ),
    Item(
        name="certificate",
        header="Tester cert",
        label="Certificate number",
        part=_V,
        missing="Write the number of the tester’s certificate.",
        most=60,
    ),
    Item(
        name="certificate_ends_on",
        header="Cert expires",
        label="Certificate ends",
        part=_V,
        kind=Kind.DATE,
    ),
    Item(
        name="gauge_serial",
        header="Gauge serial",
        label="Gauge serial",
        part=_V,
        missing="Write the serial of the gauge; a test without it does not count.",
        most=60,
    ),
    Item(
        name="gauge_calibrated_on",
        header="Gauge calibrated",
        label="Gauge calibrated",
        part=_V,
        kind=Kind.DATE,
    ),
    Item(
        name="unit",
        header="Unit",
        label="The gauge shows",
        part=_V,
        kind=Kind.CHOICE,
        choices=((Unit.PSID.value, "psid"), (Unit.KPA.value, "kPa")),
        missing="Say whether the gauge shows psid or kPa.",
    ),
    Item(
        name="line_pressure",
        header="Line pressure",
        label="Line pressure",
        part=_V,
        kind=Kind.FIGURE,
        most=40,
    ),
    Item(
        name=UNTESTED,
        header="Could not be tested",
        label="Could it be tested?",
        part=Part.FOUND,
        kind=Kind.CHOICE,
        choices=CAUSES,
    ),
    Item(
        name=SHUTOFF1,
        header="Shutoff valve 1",
        label="Does shutoff valve 1 hold?",
        part=Part.FOUND,
        kind=Kind.CHOICE,
        choices=(("yes", "Holds"), ("no", "Leaks")),
        help="Leaking, it spoils a low reading of a check: repair it first.",
        missing="Say whether shutoff valve 1 holds.",
    ),
    Item(
        name=SHUTOFF2,
        header="Initial shutoff2 tight",
        label="Does shutoff valve 2 hold?",
        part=Part.FOUND,
        kind=Kind.CHOICE,
        choices=(("yes", "Holds"), ("no flow", "Leaks, no flow shown"), ("no", "Leaks")),
        missing="Say whether shutoff valve 2 holds; if it leaks, the readings may not count.",
    ),
    Item(
        name="no_flow_how",
        header="No flow shown by",
        label="How no flow was shown",
        part=Part.FOUND,
        missing="Say how no flow was shown; else the readings do not count.",
        when=(SHUTOFF2, "no flow"),
        kind=Kind.CHOICE,
        choices=(
            ("closed downstream", "Valves closed downstream"),
            ("compensating hose", "A compensating hose"),
        ),
    ),
    Item(
        name=RUNNING,
        header="Relief valve seen running",
        label="Was the relief valve running when you came?",
        part=Part.FOUND,
        kind=Kind.CHOICE,
        choices=(("no", "No"), ("yes", "Yes")),
        missing="Say whether the relief valve was running when you came.",
    ),
    Item(
        name="repairs",
        header="Repairs",
        label="What was repaired, and the parts used",
        part=Part.REPAIR,
        kind=Kind.LONG,
        most=2000,
    ),
    Item(
        name="meter_moved",
        header="Initial meter moved",
        label="Did the bypass meter move?",
        part=Part.FOUND,
        kind=Kind.CHOICE,
        choices=YES_NO,
        missing="Say whether the bypass meter moved; a still one fails some methods.",
    ),
    Item(
        name="meter_reading",
        header="Detector meter reading",
        label="Reading of the detector meter",
        part=Part.CLOSING,
        kind=Kind.FIGURE,
        most=40,
    ),
    Item(
        name="supply_on",
        header="Supply back on",
        label="Is the water back on?",
        part=Part.CLOSING,
        kind=Kind.CHOICE,
        choices=YES_NO,
        missing="Say whether the water is back on.",
    ),
    Item(
        name="remarks",
        header="Remarks",
        label="Remarks",
        part=Part.CLOSING,
        kind=Kind.LONG,
        most=2000,
    ),
)

ITEMS: Mapping[str, Item] = MappingProxyType({item.name: item for item in _ITEMS})
"""Every item by its name."""

_OF_DETECTORS = frozenset({"meter_moved", "meter_reading"})


def items_for(assembly_type: AssemblyType, *, is_known: bool) -> tuple[Item, ...]:
    """The items asked of a type, in order; an assembly nobody knows is told by its address."""
    has_relief = any(family is Family.RP for _, family in BODIES.get(assembly_type, ()))
    return tuple(
        item
        for item in _ITEMS
        if (not item.only_unknown or not is_known)
        and (item.name not in _OF_DETECTORS or assembly_type in DETECTORS)
        and (item.name != RUNNING or has_relief)
    )
