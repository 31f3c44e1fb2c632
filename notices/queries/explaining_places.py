"""What a premises and its services owe, explained for a command: every kind of work by itself."""

from __future__ import annotations

from datetime import date

from notices.queries.left_at_places import left_at
from registry.models import Premises, Program
from registry.moments import end_of_day
from scheduling.domain.explanation import PlaceExplanation, explain_place
from scheduling.queries.duties import accounts_at
from scheduling.queries.rulebooks import books_of


class NoSuchPremisesError(ValueError):
    """No premises answers to a word, or several do; the message says which."""


def named_premises(program: Program, *, word: str) -> Premises:
    """Return the premises of an account, else of an address. Raises NoSuchPremisesError."""
    sites = Premises.objects.filter(program=program).select_related("program").order_by("pk")
    found = list(sites.filter(account=word.strip())[:6]) if word.strip() else []
    found = found or list(sites.filter(address__iexact=word.strip())[:6])
    if not found:
        raise NoSuchPremisesError(
            f"Program {program.code} has no premises of account or address {word!r}."
        )
    if len(found) > 1:
        several = "; ".join(f"{one.account or 'no account'}, {one.address}, {one.city}"
                            for one in found)  # fmt: skip
        raise NoSuchPremisesError(f"{word!r} is several premises: {several}. Name the account.")
    return found[0]


def explain_premises(
    premises: Premises, *, as_of: date, known_on: date | None
) -> list[PlaceExplanation]:
    """Return what each kind of work of a premises and of its services owes on a day, and why.

    Raises NoRulebookError where none is in force.
    """
    books_of(premises.program)
    accounts = accounts_at(
        premises,
        as_of=as_of,
        known_at=end_of_day(premises.program, known_on),
        left=left_at(premises, as_of=as_of, known_on=known_on),
    )
    found = []
    for account in accounts:
        lived, service = account.lived, account.service
        name = None if service is None else " ".join(filter(None, (service.kind, service.name)))
        for kind in lived.ledger.kinds:
            owed = lived.ledger.open_of(kind) or lived.ledger.coming_of(kind)
            found.append(
                explain_place(
                    names=(str(premises), premises.account, name),
                    kind=kind,
                    ledger=lived.ledger,
                    ladder=lived.book.ladder_for(kind=kind, attributes=lived.ledger.attributes),
                    left=account.left.get(owed.key, ()) if owed else (),
                )
            )
    return found
