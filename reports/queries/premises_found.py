"""Premises found by what a caller says: account, name, street, or a serial on a tag."""

from __future__ import annotations

from django.db.models import Exists, OuterRef, Q, QuerySet

from registry.domain.identity import serial_key
from registry.models import Assembly, Premises

MOST_FOUND = 20


def premises_matching(seen: QuerySet[Premises], said: str) -> list[Premises]:
    """The first twenty, by address. Account and serial must be whole; names and streets not."""
    tagged = Assembly.objects.filter(premises=OuterRef("pk"), serial_key=serial_key(said))
    alike = Q(account__iexact=said) | Q(name__icontains=said) | Q(address__icontains=said)
    return list(seen.filter(alike | Q(Exists(tagged))).order_by("address", "pk")[:MOST_FOUND])
