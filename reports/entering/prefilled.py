"""What a form knows before anybody writes: the assembly, the tester, the gauge, the day."""

from __future__ import annotations

from registry.models import Assembly
from reports.queries.entry_rights import certificate_end, gauges_of, tester_of
from scheduling.views.desk import Desk


def prefilled(*, desk: Desk, assembly: Assembly | None) -> dict[str, str]:
    """Values by field name. An office clerk keys for anybody, so no tester is filled in."""
    values = {"tested_on": desk.today.isoformat(), "unit": "psid", "relief_running": ""}
    values |= _tester_values(desk)
    if assembly is not None:
        values |= _assembly_values(assembly)
    return values


def prefilled_of_paper(assembly: Assembly | None) -> dict[str, str]:
    """What is known before a paper is read: the assembly, and nothing of the visit."""
    values = {"unit": "psid", "relief_running": ""}
    return values if assembly is None else values | _assembly_values(assembly)


def _tester_values(desk: Desk) -> dict[str, str]:
    tester = tester_of(desk)
    if tester is None:
        return {}
    ends_on = certificate_end(tester, desk=desk)
    values = {
        "tester_name": tester.name,
        "certificate": tester.certificate,
        "certificate_ends_on": ends_on.isoformat() if ends_on else "",
    }
    gauges = gauges_of(desk)
    if len(gauges) == 1:
        calibrated = gauges[0].calibrated_on
        values["gauge_serial"] = gauges[0].serial
        values["gauge_calibrated_on"] = calibrated.isoformat() if calibrated else ""
    return values


def _assembly_values(assembly: Assembly) -> dict[str, str]:
    site = assembly.premises
    return {
        "premises": site.name or site.address,
        "address": site.address,
        "contact": site.phone,
        "serial": "" if assembly.serial_is_ours else assembly.serial,
        "maker": assembly.maker,
        "model": assembly.model,
        "size": f"{assembly.size_in.normalize():f}",
        "location": assembly.location,
        "protects": assembly.protects,
        "installed": "existing",
    }
