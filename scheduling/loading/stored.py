"""What a program has on record, read once so that a whole file can be matched against it."""

from collections.abc import Iterable
from dataclasses import dataclass, field

from django.db.models import Q

from registry.domain.identity import account_key, folded, maker_key
from registry.domain.kinds import PartyRole
from registry.models import Assembly, Party, Premises, PremisesParty, Program, ServiceConnection
from registry.queries.parties import parties_by_key
from scheduling.domain.facts import FactKind
from scheduling.loading.stated_facts import CORRECTED, LOADED, STATED, KeptFact
from scheduling.models import Fact

_KINDS = (
    FactKind.INSTALLED,
    FactKind.PASSED,
    FactKind.FAILED,
    FactKind.IDLED,
    FactKind.RESUMED,
    FactKind.REMOVED,
)

PAST = "history"
"""The kind of load that brings an office's past."""

Signature = tuple[str, str, str, str, str, str]
"""Account, maker, model, type, size and location: what tells assemblies without serials apart."""


@dataclass(kw_only=True)
class Stored:
    """A program's registry by the keys a load looks for."""

    assemblies: dict[tuple[str, str], Assembly]
    unmarked: dict[Signature, list[Assembly]]
    premises: dict[str, Premises]
    connections: dict[tuple[int, str, str], ServiceConnection]
    parties: dict[str, Party]
    owners: dict[int, PremisesParty]
    at_premises: dict[int, set[int]] = field(default_factory=dict)
    serials: dict[str, list[Assembly]] = field(default_factory=dict)
    facts: dict[int, list[KeptFact]] = field(default_factory=dict)

    def facts_of(self, assembly: Assembly) -> list[KeptFact]:
        """The facts of an assembly that a sheet can speak of, oldest first."""
        return self.facts.get(assembly.pk, [])


def read_stored(program: Program) -> Stored:
    """Read the program's registry in a fixed number of queries."""
    premises = list(Premises.objects.filter(program=program))
    site_of = {site.pk: site for site in premises}
    connections = list(ServiceConnection.objects.filter(premises__program=program))
    connection_of = {connection.pk: connection for connection in connections}
    assemblies = list(Assembly.objects.filter(program=program).order_by("pk"))
    for assembly in assemblies:  # one object for each row, shared by all that point to it
        assembly.premises = site_of[assembly.premises_id]
        assembly.connection = connection_of[assembly.connection_id]
    at_premises: dict[int, set[int]] = {}
    serials: dict[str, list[Assembly]] = {}
    for assembly in assemblies:
        at_premises.setdefault(assembly.premises_id, set()).add(assembly.pk)
        serials.setdefault(assembly.serial_key, []).append(assembly)
    return Stored(
        at_premises=at_premises,
        serials=serials,
        assemblies={(a.maker_key, a.serial_key): a for a in assemblies},
        unmarked=_by_signature(a for a in assemblies if a.serial_is_ours),
        premises={site.key: site for site in premises},
        connections={(c.premises_id, c.kind, c.name): c for c in connections},
        parties=parties_by_key(program),
        owners=_owners(program),
        facts=_facts(program),
    )


def signature_of(assembly: Assembly) -> Signature:
    """What a stored assembly without a serial is known by."""
    return (
        account_key(assembly.premises.account),
        maker_key(assembly.maker),
        folded(assembly.model),
        assembly.type,
        str(assembly.size_in.normalize()),
        folded(assembly.location),
    )


def _by_signature(assemblies: Iterable[Assembly]) -> dict[Signature, list[Assembly]]:
    found: dict[Signature, list[Assembly]] = {}
    for assembly in assemblies:
        found.setdefault(signature_of(assembly), []).append(assembly)
    return found


def _owners(program: Program) -> dict[int, PremisesParty]:
    roles = PremisesParty.objects.filter(
        premises__program=program, role=PartyRole.OWNER, until_on__isnull=True
    ).select_related("party")
    return {role.premises_id: role for role in roles}


def _facts(program: Program) -> dict[int, list[KeptFact]]:
    """Facts that a sheet can speak of: live ones, and those of sheets that a person withdrew."""
    by_person = Q(source__in=(STATED, LOADED)) & ~Q(withdrawn_reason=CORRECTED)
    facts = Fact.objects.filter(
        Q(withdrawn_at__isnull=True) | by_person, program=program, kind__in=_KINDS
    ).order_by("on", "pk")
    found: dict[int, list[KeptFact]] = {}
    for pk, assembly_id, kind, on, source, withdrawn_at, what in facts.values_list(
        "pk", "assembly_id", "kind", "on", "source", "withdrawn_at", "batch__what"
    ):
        # What came with an office's past is no spreadsheet's to take back.
        told_by = PAST if what == PAST else source
        fact = KeptFact(
            id=pk, kind=FactKind(kind), on=on, source=told_by, is_live=withdrawn_at is None
        )
        found.setdefault(assembly_id, []).append(fact)
    return found
