"""What the rulebook says of orders: a second person, what brings water back, fees, emergencies."""

from __future__ import annotations

from datetime import date

from notices.models import Letter, Notice
from registry.domain.kinds import ServiceKind
from registry.models import Premises, Program, ServiceConnection
from scheduling.domain.dwellings import is_residence
from scheduling.domain.matching import Attributes, SubjectKind
from scheduling.domain.rulebook import Rulebook
from scheduling.domain.rules import Provision, Topic
from scheduling.models import Obligation
from scheduling.queries.rulebooks import NoRulebookError, rulebook_from, rulebook_in_force
from scheduling.queries.shapes import attributes_of


def of_order(letter: Letter, *, topic: Topic) -> Provision | None:
    """Return what the rulebook of an order says of a topic, of any assembly it is about."""
    notices = Notice.objects.filter(carried__letter=letter, obligation__isnull=False)
    rows = Obligation.objects.filter(notices__in=notices).select_related(
        "rulebook", "assembly__premises", "assembly__connection"
    )
    for row in rows.order_by("pk"):
        if row.assembly is None:
            continue
        book = rulebook_from(row.rulebook)
        found = book.provision(topic=topic, attributes=attributes_of(row.assembly))
        if found is not None:
            return found
    return None


def in_force(
    program: Program,
    *,
    topic: Topic,
    on: date,
    premises: Premises,
    service: ServiceConnection | None = None,
) -> Provision | None:
    """Return what the rulebook in force says of a topic at a premises, or nothing."""
    book = _book(program, on=on)
    if book is None:
        return None
    return book.provision(topic=topic, attributes=_attributes(premises, service=service))


def fee_rules(program: Program, *, on: date) -> list[Provision]:
    """Return the rules by which a fee may be asked; none: no fee is written down."""
    book = _book(program, on=on)
    return [rule for rule in book.provisions if rule.topic is Topic.FEE] if book else []


def _book(program: Program, *, on: date) -> Rulebook | None:
    try:
        return rulebook_in_force(program=program, on=on)
    except NoRulebookError:
        return None


def _attributes(premises: Premises, *, service: ServiceConnection | None) -> Attributes:
    kind = ServiceKind(service.kind) if service is not None else ServiceKind.UNKNOWN
    return Attributes(
        subject=SubjectKind.PREMISES if service is None else SubjectKind.CONNECTION,
        service=kind,
        use=premises.use,
        is_residential=is_residence(premises.use),
    )
