"""Replay premises and their services, and make the stored rows say what replay found."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime
from typing import Any, Literal

from django.db.models import Q

from registry.models import Premises, Program
from scheduling.actions.asking import AskedPlace, ask_of_places
from scheduling.actions.storing import Plan, RowSource, plan_rows, write_plans
from scheduling.domain.ladders import LeftRung
from scheduling.domain.matching import SubjectKind
from scheduling.domain.obligations import ObligationKey
from scheduling.domain.place_replay import Lived, Rules, replay_premises, replay_service
from scheduling.domain.protection import Lack
from scheduling.models import Obligation
from scheduling.queries.obligations import key_of
from scheduling.queries.places import places, rules_of
from scheduling.queries.rulebooks import Books

CHUNK = 1000
Subject = Literal["connection_id", "premises_id"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Walk:
    """Under which rulebooks premises are replayed, as of which day, and what had left."""

    program: Program
    books: Books
    as_of: date
    at: datetime
    left: Mapping[int, Sequence[LeftRung]] = field(default_factory=dict)

    @property
    def rules(self) -> Rules:
        """The rulebooks as replay of a premises takes them."""
        return rules_of(program=self.program, books=self.books)

    @property
    def is_asked(self) -> bool:
        """Whether any rulebook of the program ever asked anything of a premises or a service."""
        rules = self.rules
        return rules.ask_of(SubjectKind.PREMISES) or rules.ask_of(SubjectKind.CONNECTION)


def premises_ids_of(program: Program) -> list[int]:
    """Return the ids of all premises of a program, in order."""
    rows = Premises.objects.filter(program=program).order_by("pk")
    return list(rows.values_list("pk", flat=True))


def store_places(walk: Walk, *, premises_ids: Collection[int]) -> int:
    """Replay these premises with their services and store what they owe; the turn is taken before.

    Rows keep their id while their key survives, as those of assemblies do. A second time
    changes nothing. Returns how many premises were replayed.
    """
    stored = _stored(walk.program, premises_ids)
    rules = walk.rules
    plans: list[Plan] = []
    asked: list[AskedPlace] = []
    found = places(program=walk.program, premises_ids=premises_ids)
    for place in found:
        if rules.ask_of(SubjectKind.PREMISES):
            rows = stored["premises_id", place.key]
            lived = replay_premises(
                place=place, rules=rules, as_of=walk.as_of, left=_left(walk, rows)
            )
            plans.append(_plan(walk, lived, of=("premises_id", place.key), rows=rows))
            asked.append(AskedPlace(place.key, "premises", place.key, lived.ledger.questions))
        for service in place.services if rules.ask_of(SubjectKind.CONNECTION) else ():
            rows = stored["connection_id", service.key]
            lived = replay_service(
                place=place,
                service=service,
                rules=rules,
                as_of=walk.as_of,
                left=_left(walk, rows),
            )
            plans.append(_plan(walk, lived, of=("connection_id", service.key), rows=rows))
            asked.append(AskedPlace(place.key, "service", service.key, lived.ledger.questions))
    write_plans(plans)
    ask_of_places(program=walk.program, asked=asked, as_of=walk.as_of, at=walk.at)
    return len(found)


def _stored(
    program: Program, premises_ids: Collection[int]
) -> defaultdict[tuple[Subject, int], list[Obligation]]:
    found: defaultdict[tuple[Subject, int], list[Obligation]] = defaultdict(list)
    own = Obligation.objects.filter(program=program, premises__in=premises_ids)
    served = Obligation.objects.filter(
        Q(connection__isnull=False), program=program, connection__premises__in=premises_ids
    )
    for row in own.order_by("pk"):
        found["premises_id", row.premises_id or 0].append(row)
    for row in served.order_by("pk"):
        found["connection_id", row.connection_id or 0].append(row)
    return found


def _left(walk: Walk, rows: Sequence[Obligation]) -> Mapping[ObligationKey, Sequence[LeftRung]]:
    return {key_of(row): walk.left[row.pk] for row in rows if row.pk in walk.left}


def _plan(walk: Walk, lived: Lived, *, of: tuple[Subject, int], rows: Sequence[Obligation]) -> Plan:
    ledger = lived.ledger
    subject, subject_id = of
    source = RowSource(
        program=walk.program,
        next_actions=ledger.next_actions,
        rulebook_ids=walk.books.row_ids,
        as_of=walk.as_of,
        at=walk.at,
        connection_id=subject_id if subject == "connection_id" else None,
        premises_id=subject_id if subject == "premises_id" else None,
        more={
            obligation.key: {"lacks": [lack_kept(lack) for lack in lacks]}
            for obligation in ledger.obligations
            if (lacks := lived.lacks_of(obligation))
        },
    )
    return plan_rows(ledger=ledger, rows=rows, source=source)


def lack_kept(lack: Lack) -> dict[str, Any]:
    """Return what a letter says of a lack, as it is kept with the obligation."""
    return {
        "connection": lack.service.key,
        "service": lack.attributes.service.value,
        "hazard": lack.attributes.hazard.value,
        "has": [kind.value for kind in lack.has],
        "allowed": sorted(kind.value for kind in lack.rule.allowed),
        "rule": lack.rule.id,
        "citation": lack.rule.citation,
    }
