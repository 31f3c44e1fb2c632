"""What soon lapses: certificates and gauges of accepted testing companies, by company."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from dateutil.relativedelta import relativedelta
from django.db.models import QuerySet

from registry.models import Approval, Calibration, Certification, Firm, Program
from reports.queries.credentials import term_of
from reports.queries.program_rules import ProgramRules
from scheduling.queries.rulebooks import NoRulebookError

WITHIN_DAYS = 30
GAUGE_MONTHS = 12  # common practice, where the program has no rulebook


@dataclass(frozen=True, kw_only=True)
class Lapse:
    """One certificate or gauge: until when it holds, and whose it is."""

    firm_id: int
    firm: str
    firm_email: str
    what: str
    label: str
    last_day: date
    page: str
    pk: int

    def has_passed(self, today: date) -> bool:
        """Whether it holds no more."""
        return self.last_day < today


def gauge_months(program: Program, *, today: date) -> int:
    """How many months a calibration holds in a program."""
    try:
        return ProgramRules(program).on(today).credentials.gauge_months or GAUGE_MONTHS
    except NoRulebookError:
        return GAUGE_MONTHS


def credentials_citation(program: Program, *, today: date) -> str:
    """The rule by which a test needs a gauge that holds, where the rulebook has one."""
    try:
        found = ProgramRules(program).on(today).credentials
    except NoRulebookError:
        return ""
    return found.citation if found.is_given else ""


def lapsing(program: Program, *, today: date, within: int = WITHIN_DAYS) -> list[Lapse]:
    """Those that lapse within some days, or lapsed that many days ago, the first first.

    What a newer term or calibration carries on is not listed. Three queries and the rulebook.
    """
    approvals = list(
        Approval.objects.filter(program=program)
        .filter(firm__isnull=False)
        .select_related("firm", "tester", "gauge")
        .order_by("pk")
    )
    running = [one for one in approvals if one.valid_to is None or one.valid_to >= today]
    months = gauge_months(program, today=today)
    found = [*_testers(program, running), *_gauges(program, running, months=months)]
    span = timedelta(days=within)
    soon = [one for one in found if today - span <= one.last_day <= today + span]
    return sorted(soon, key=lambda one: (one.last_day, one.firm, one.label))


def _testers(program: Program, approvals: Sequence[Approval]) -> list[Lapse]:
    last: dict[int, date] = {}
    for row in Certification.objects.filter(program=program):
        end = term_of(row).last
        if end is not None and end >= row.valid_from:
            last[row.tester_id] = max(last.get(row.tester_id, end), end)
    return [
        _lapse(one, what="certificate", label=str(one.tester), last=last[one.tester_id],
               page="tester", pk=one.tester_id)
        for one in approvals
        if one.tester_id is not None and one.tester_id in last
    ]  # fmt: skip


def _gauges(program: Program, approvals: Sequence[Approval], *, months: int) -> list[Lapse]:
    last: dict[int, date] = {}
    rows = Calibration.objects.filter(program=program, struck_at__isnull=True)
    for gauge_id, on in rows.values_list("gauge_id", "calibrated_on"):
        last[gauge_id] = max(last.get(gauge_id, on), on)
    return [
        _lapse(one, what="gauge", label=str(one.gauge),
               last=last[one.gauge_id] + relativedelta(months=months),
               page="gauge", pk=one.gauge_id)
        for one in approvals
        if one.gauge_id is not None and one.gauge_id in last
    ]  # fmt: skip


def _lapse(approval: Approval, *, what: str, label: str, last: date, page: str, pk: int) -> Lapse:
    return Lapse(
        firm_id=approval.firm_id,
        firm=approval.firm.name,
        firm_email=approval.firm.email,
        what=what,
        label=label,
        last_day=last,
        page=page,
        pk=pk,
    )


def lapsing_of(
    program: Program, *, today: date, firms: QuerySet[Firm], within: int = WITHIN_DAYS
) -> list[Lapse]:
    """What lapses of some testing companies: all that another company is told is its own."""
    mine = set(firms.values_list("pk", flat=True))
    return [one for one in lapsing(program, today=today, within=within) if one.firm_id in mine]


def by_firm(found: Sequence[Lapse]) -> list[tuple[str, str, list[Lapse]]]:
    """The same by testing company: name, e-mail, and what lapses."""
    grouped: dict[int, list[Lapse]] = defaultdict(list)
    for one in found:
        grouped[one.firm_id].append(one)
    return [(some[0].firm, some[0].firm_email, some) for some in grouped.values()]
