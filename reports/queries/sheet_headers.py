"""How a program's test sheets are headed: by its own reading first, then by the trade's words."""

from __future__ import annotations

from collections.abc import Sequence

from registry.models import Program, SavedHeader
from reports.domain.report_columns import ReportColumns, recognise

WHAT = "tests"
"""How batches and saved headers of test sheets are named."""


def report_columns(*, program: Program, headers: Sequence[str]) -> ReportColumns:
    """The columns of a test sheet as the program reads them."""
    saved = SavedHeader.objects.filter(program=program, what=WHAT)
    return recognise(headers, saved=dict(saved.values_list("header", "field")))
