"""Parties by the digest of name and mailing address, the digests of merged ones included."""

from __future__ import annotations

from registry.models import Alias, Party, Program


def parties_by_key(program: Program) -> dict[str, Party]:
    """Return every party of a program by its key, and by the key of each merged into it."""
    parties = {party.pk: party for party in Party.objects.filter(program=program)}
    old = Alias.objects.filter(program=program, party__isnull=False).order_by("pk")
    found = {
        key: parties[party_id]
        for key, party_id in old.values_list("key", "party_id")
        if party_id in parties
    }
    return found | {party.key: party for party in parties.values()}


def old_names(program: Program) -> dict[int, list[str]]:
    """Return the names under which merged parties were known, by the party they are now."""
    found: dict[int, list[str]] = {}
    rows = Alias.objects.filter(program=program, party__isnull=False).order_by("pk")
    for party_id, shown in rows.values_list("party_id", "shown"):
        found.setdefault(party_id or 0, []).append(shown)
    return found
