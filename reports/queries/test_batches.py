"""The files of reports that a program was given, newest first."""

from __future__ import annotations

from django.db.models import QuerySet

from registry.models import LoadBatch, Program
from reports.queries.sheet_headers import WHAT

# A form handed in is a batch of one, named after its receipt; it is no file.
OF_A_FORM = r"^form [0-9]{6}-[0-9A-F]{8}$"


def batches_of(program: Program) -> QuerySet[LoadBatch]:
    """Files of reports, and whether each was taken back; forms handed in singly are left out."""
    found = LoadBatch.objects.filter(program=program, what=WHAT)
    return found.exclude(file_name__regex=OF_A_FORM).select_related("taken_back")
