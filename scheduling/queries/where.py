"""Where an obligation is: the premises of its assembly or service, or the premises itself."""

from __future__ import annotations

from typing import Final

from django.db.models import Q
from django.db.models.functions import Coalesce

PREMISES_ID: Final = Coalesce("assembly__premises_id", "connection__premises_id", "premises_id")
"""The id of the premises of an obligation, in a query."""

WHERE: Final = (
    "assembly__premises",
    "assembly__connection",
    "connection__premises",
    "premises",
)
"""What to select with obligations whose subject and premises are read."""

OF_NO_ASSEMBLY: Final = Q(assembly__isnull=True)
"""The obligations of services and premises."""
