"""The files of reports that a program was given, newest first."""

from __future__ import annotations

from django.db.models import QuerySet

from registry.models import LoadBatch, Program
from reports.queries.sheet_headers import WHAT

# A form handed in, and a report mended, is a batch of one with a name of its own; it is no file.
OF_ONE = r"^(form [0-9]{6}-[0-9A-F]{8}|report [0-9]+, mended)$"


def batches_of(program: Program) -> QuerySet[LoadBatch]:
    """Files of reports, and whether each was taken back; what came in singly is left out."""
    found = LoadBatch.objects.filter(program=program, what=WHAT)
    return found.exclude(file_name__regex=OF_ONE).select_related("taken_back")
