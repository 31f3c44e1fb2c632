"""What the page of a form is given, for a tester on site and for a clerk beside a paper."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from registry.domain.kinds import AssemblyType
from registry.models import Assembly
from reports.domain.causes import causes_plain
from reports.domain.cautions import SiteTraits, cautions_for
from reports.domain.entry_body import FORM_VERSION
from reports.domain.entry_readings import readings_asked
from reports.domain.entry_report import FormAsked, FormFault
from reports.domain.limits import Limits
from reports.domain.limits_plain import bodies_plain, limits_plain
from reports.entering.kept_pages import build
from reports.entering.shown import FormShown, needed_plain
from reports.queries.causes import shipped_causes
from reports.queries.entry_forms import attestation_of, cautions_of, readings_before
from reports.queries.entry_rights import gauges_of
from scheduling.views.desk import Desk

HIDDEN = ("csrfmiddlewaretoken", "client_id")
"""What a form posts besides its fields."""


def asked_by(
    limits: Limits, *, assembly_type: AssemblyType, is_known: bool, is_keyed: bool = False
) -> FormAsked:
    """The form of a type under a method."""
    return FormAsked(
        assembly_type=assembly_type,
        is_known=is_known,
        readings=readings_asked(limits, assembly_type),
        is_keyed=is_keyed,
    )


def form_context(
    desk: Desk,
    *,
    asked: FormAsked,
    values: Mapping[str, str],
    faults: list[FormFault],
    limits: Limits,
    assembly: Assembly | None,
) -> dict[str, Any]:
    """The form with its values and faults, what stood before, and the data its scripts judge by."""
    before = readings_before([assembly]).get(assembly.pk, {}) if assembly else {}
    cautions = cautions_of(assembly) if assembly else cautions_for(SiteTraits())
    return {
        "desk": desk,
        "form": FormShown(asked=asked, values=values, faults=faults, before=before),
        "assembly": assembly,
        "assembly_type": asked.assembly_type,
        "cautions": cautions,
        "limits": limits,
        "gauges": gauges_of(desk),
        "attestation": attestation_of(desk.program),
        "build": build(),
        "device": {
            "limits": limits_plain(limits),
            "bodies": bodies_plain(asked.assembly_type),
            "readings": [
                {"name": one.name.value, "short": one.short, "figure": one.is_figure}
                for one in asked.readings
            ],
            "causes": causes_plain(shipped_causes(), type_=asked.assembly_type),
            "needed": needed_plain(asked),
            "type": asked.assembly_type.value,
            "assembly": assembly.pk if assembly else None,
            "form": FORM_VERSION,
            "attestation": attestation_of(desk.program),
            "cautions": list(cautions),
            "today": desk.today.isoformat() if desk.program.is_trial else None,
            "keyed": asked.is_keyed,
        },
    }
