"""What a fact or an obligation is about: an assembly, a service connection or a premises."""

from __future__ import annotations

from django.db.models import Q

SUBJECTS = ("assembly", "connection", "premises")
"""The columns that name the subject of a row; exactly one of them is filled."""


def one_subject() -> Q:
    """Return the condition that exactly one subject is named."""
    found = Q()
    for named in SUBJECTS:
        empty = {f"{other}__isnull": True for other in SUBJECTS if other != named}
        found |= Q(**{f"{named}__isnull": False}, **empty)
    return found
