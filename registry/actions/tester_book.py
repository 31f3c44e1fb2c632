"""The testers a program knows, with what a list adds to them row by row."""

from typing import Any

from registry.domain.identity import firm_key, folded, serial_key
from registry.domain.tester_statements import StatedTester
from registry.models import (
    Approval,
    Calibration,
    Certification,
    Firm,
    Gauge,
    Program,
    Tester,
)


class TesterBook:
    """Lands rows of a testers' list; few rows, so each is looked up as it comes.

    `created` are rows that brought a tester or a gauge, `updated` rows that added to one.
    """

    def __init__(self, *, program: Program) -> None:
        self.program = program
        self.created: set[int] = set()
        self.updated: set[int] = set()
        self.doubts: dict[int, list[str]] = {}
        self.differences: list[dict[str, Any]] = []
        self._named_here: dict[int, str] = {}

    def land(self, row: StatedTester) -> None:
        """Write what a row states and nobody has on record; note what it changed."""
        brought: list[str] = []
        added: list[str] = []
        firm, is_new = Firm.objects.get_or_create(
            key=firm_key(row.firm), defaults={"name": row.firm}
        )
        if is_new:
            added.append(f"company {firm.name}")
        self._reached(row=row, firm=firm, added=added)
        tester = self._tester(row=row, firm=firm, brought=brought, added=added)
        self._term(row=row, tester=tester, added=added)
        self._approve(row=row, firm=firm, what={}, added=added)
        self._approve(row=row, firm=firm, what={"tester": tester}, added=added)
        if row.gauge_serial:
            self._gauge(row=row, firm=firm, brought=brought, added=added)
        if brought:
            self.created.add(row.row)
        elif added:
            self.updated.add(row.row)
        if brought or added:
            self.differences.append({"row": row.row, "brought": brought, "added": added})

    def _reached(self, *, row: StatedTester, firm: Firm, added: list[str]) -> None:
        """Keep where a company is reached, where nothing is on record; else say what differs."""
        for name, text in row.reached.items():
            known = getattr(firm, name)
            if not known:
                added.append(f"{name} of {firm.name}: {text}")
                setattr(firm, name, text)
                firm.save(update_fields=[name])
            elif known != text:
                self._doubt(
                    row,
                    f"{firm.name} has {known!r} on record, not {text!r}; nothing was changed. "
                    "Change it on the page Testing companies.",
                )

    def _tester(
        self, *, row: StatedTester, firm: Firm, brought: list[str], added: list[str]
    ) -> Tester:
        tester, is_new = Tester.objects.get_or_create(
            firm=firm, certificate=row.certificate, defaults={"name": row.name}
        )
        if is_new:
            brought.append(f"tester {row.certificate}")
            self._tell_other_companies(row=row, tester=tester)
        first = self._named_here.setdefault(tester.pk, row.name)
        if first and folded(row.name) != folded(first):
            self._doubt(row, f"An earlier row names the holder {first!r}, which is taken.")
        elif row.name and tester.name != row.name:
            added.append(f"name {tester.name} → {row.name}")
            tester.name = row.name
            tester.save(update_fields=["name"])
        return tester

    def _tell_other_companies(self, *, row: StatedTester, tester: Tester) -> None:
        others = Tester.objects.filter(
            certificate=row.certificate, approvals__program=self.program
        ).exclude(pk=tester.pk)
        for other in others.select_related("firm").distinct():
            self._doubt(
                row,
                f"The certificate is also on record with {other.firm.name}; both are kept. "
                "End the approval that is over.",
            )

    def _term(self, *, row: StatedTester, tester: Tester, added: list[str]) -> None:
        assert row.valid_from is not None  # without both days a row is set aside
        assert row.valid_to is not None
        term, is_new = Certification.objects.get_or_create(
            tester=tester,
            program=self.program,
            valid_from=row.valid_from,
            valid_to=row.valid_to,
            defaults={"issued_by": row.issued_by, "classes": row.classes},
        )
        if is_new:
            added.append(f"term {row.valid_from} to {row.valid_to}")
            return
        told = {"issued_by": row.issued_by, "classes": row.classes}
        changed = {
            name: text for name, text in told.items() if text and getattr(term, name) != text
        }
        for name, text in changed.items():
            added.append(f"{name.replace('_', ' ')} {text}")
            setattr(term, name, text)
        if changed:
            term.save(update_fields=list(changed))

    def _gauge(
        self, *, row: StatedTester, firm: Firm, brought: list[str], added: list[str]
    ) -> None:
        gauge, is_new = Gauge.objects.get_or_create(
            firm=firm,
            serial_key=serial_key(row.gauge_serial),
            defaults={"serial": row.gauge_serial},
        )
        if is_new:
            brought.append(f"gauge {gauge.serial}")
        if row.gauge_calibrated_on:
            _, is_new = Calibration.objects.get_or_create(
                gauge=gauge, program=self.program, calibrated_on=row.gauge_calibrated_on
            )
            if is_new:
                added.append(f"calibration {row.gauge_calibrated_on}")
        self._approve(row=row, firm=firm, what={"gauge": gauge}, added=added)

    def _approve(
        self, *, row: StatedTester, firm: Firm, what: dict[str, Any], added: list[str]
    ) -> None:
        """Accept a company, tester or gauge from the certificate's first day; the first wins."""
        assert row.valid_from is not None  # without it a row is set aside
        thing = {"tester": None, "gauge": None, **what}
        approval, is_new = Approval.objects.get_or_create(
            program=self.program, firm=firm, **thing, defaults={"valid_from": row.valid_from}
        )
        if is_new:
            added.append(f"approval from {row.valid_from}")
        elif row.valid_from < approval.valid_from:
            added.append(f"approval from {row.valid_from}, not {approval.valid_from}")
            approval.valid_from = row.valid_from
            approval.save(update_fields=["valid_from"])

    def _doubt(self, row: StatedTester, message: str) -> None:
        self.doubts.setdefault(row.row, []).append(message)
