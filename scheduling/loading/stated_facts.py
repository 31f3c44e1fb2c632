"""Which facts a row's statement adds to those on record, and which it takes back."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from registry.domain.statements import StatedHistory
from registry.domain.words import StatedStatus
from scheduling.domain.facts import FactKind

STATED = "stated"
"""A spreadsheet gave the day: installed, passed, failed, without readings."""
LOADED = "load"
"""A spreadsheet gave a state without a day: removed, idled, resumed, dated by the load."""

CORRECTED = "Corrected by a later spreadsheet."
"""The reason of a withdrawal that a load made; any other is a person's."""

_TESTS = (FactKind.PASSED, FactKind.FAILED)
_STATES = {
    FactKind.IDLED: StatedStatus.INACTIVE,
    FactKind.REMOVED: StatedStatus.REMOVED,
    FactKind.RESUMED: StatedStatus.ACTIVE,
}


@dataclass(frozen=True, kw_only=True)
class KeptFact:
    """A fact on record, as far as a load needs it; `id` orders what one day brought.

    `is_live` is False for one that a person withdrew: a sheet does not bring it back.
    """

    id: int
    kind: FactKind
    on: date
    source: str
    is_live: bool = True


@dataclass(frozen=True, kw_only=True)
class AddedFact:
    """A fact that a row states and nobody recorded yet."""

    kind: FactKind
    on: date
    source: str
    reason: str = ""
    detail: dict[str, Any] = field(default_factory=dict)


@dataclass(frozen=True, kw_only=True)
class FactChanges:
    """What to record and what to withdraw; `doubts` are sentences for a person."""

    added: tuple[AddedFact, ...] = ()
    withdrawn: tuple[KeptFact, ...] = ()
    doubts: tuple[str, ...] = ()

    @property
    def is_empty(self) -> bool:
        """Whether the statement agrees with the record."""
        return not self.added and not self.withdrawn


def fact_changes(
    *,
    kept: Sequence[KeptFact],
    history: StatedHistory,
    states_installation: bool,
    states_passes: bool,
    states_failures: bool,
    as_of: date,
) -> FactChanges:
    """Compare a row's history with the live facts of its assembly.

    `states_…` say whether the file has such a column; without one nothing is stated. Only what
    spreadsheets stated is ever withdrawn, and nothing after `as_of`. A later last test is added
    to the earlier ones; an earlier one corrects: stated tests after it are withdrawn. Blank
    means that there is none. A file without results cannot turn a failure into a pass, and
    what a person withdrew stays withdrawn.
    """
    known = [fact for fact in kept if fact.on <= as_of]
    live = [fact for fact in known if fact.is_live]
    parts = []
    if states_installation:
        parts.append(_installation(kept=live, installed_on=history.installed_on))
    if states_passes and history.result_is_clear:
        parts.append(_tests(kept=live, history=history, states_failures=states_failures))
    if history.status:
        parts.append(_status(kept=known, said=history.status, as_of=as_of))
    refused = {(fact.kind, fact.on) for fact in known if not fact.is_live}
    added = [fact for part in parts for fact in part.added]
    return FactChanges(
        added=tuple(fact for fact in added if (fact.kind, fact.on) not in refused),
        withdrawn=tuple(fact for part in parts for fact in part.withdrawn),
        doubts=(
            *(doubt for part in parts for doubt in part.doubts),
            *(_stays_withdrawn(fact) for fact in added if (fact.kind, fact.on) in refused),
        ),
    )


def _stays_withdrawn(fact: AddedFact) -> str:
    return (
        f"A person withdrew {fact.kind} {fact.on}, and it stays withdrawn; correct the sheet, "
        "or record it again by hand."
    )


def _installation(*, kept: Sequence[KeptFact], installed_on: date | None) -> FactChanges:
    stored = [fact for fact in kept if fact.kind is FactKind.INSTALLED]
    wrong = tuple(f for f in stored if f.source == STATED and f.on != installed_on)
    if installed_on is None or any(fact.on == installed_on for fact in stored):
        return FactChanges(withdrawn=wrong)
    by_others = [fact for fact in stored if fact.source != STATED]
    if by_others:
        doubt = (
            f"The record, not from a spreadsheet, has it installed on {by_others[0].on}; "
            "that stays. Withdraw it there if the sheet is right."
        )
        return FactChanges(doubts=(doubt,))
    added = AddedFact(kind=FactKind.INSTALLED, on=installed_on, source=STATED)
    return FactChanges(added=(added,), withdrawn=wrong)


def _tests(
    *, kept: Sequence[KeptFact], history: StatedHistory, states_failures: bool
) -> FactChanges:
    stated = {(FactKind(test.kind.value), test.on) for test in history.tests}
    if not states_failures:
        failed = {fact.on for fact in kept if fact.kind is FactKind.FAILED}
        stated = {(kind, on) for kind, on in stated if on not in failed}
    newest = max((on for _, on in stated), default=date.min)
    days = {on for _, on in stated}
    speaks_of = _TESTS if states_failures else (FactKind.PASSED,)
    stored = [fact for fact in kept if fact.kind in speaks_of]
    wrong = tuple(
        fact
        for fact in stored
        if fact.source == STATED
        and (fact.kind, fact.on) not in stated
        and (fact.on > newest or fact.on in days)
    )
    recorded = {(fact.kind, fact.on) for fact in stored if fact not in wrong}
    added = tuple(
        AddedFact(kind=kind, on=on, source=STATED, detail={"readings": "none stated"})
        for kind, on in sorted(stated - recorded, key=lambda test: (test[1], test[0]))
    )
    return FactChanges(added=added, withdrawn=wrong)


def _status(*, kept: Sequence[KeptFact], said: StatedStatus, as_of: date) -> FactChanges:
    loaded = [f for f in kept if f.source == LOADED and f.kind in _STATES]
    latest = max(loaded, key=lambda fact: fact.id, default=None)
    said_before = _STATES[latest.kind] if latest else StatedStatus.ACTIVE
    if said is said_before:
        return FactChanges()
    takes_back = latest if latest and _is_taken_back(latest=latest, as_of=as_of) else None
    left = [fact for fact in kept if fact.is_live and fact is not takes_back]
    kind = _kind_for(said=said, kept=left)
    added = () if kind is None else (_dated_by_load(kind=kind, said=said, as_of=as_of),)
    return FactChanges(added=added, withdrawn=(takes_back,) if takes_back else ())


def _is_taken_back(*, latest: KeptFact, as_of: date) -> bool:
    """A removal that is contradicted was wrong; so was whatever the same day said before."""
    return latest.is_live and (latest.kind is FactKind.REMOVED or latest.on >= as_of)


def _kind_for(*, said: StatedStatus, kept: Iterable[KeptFact]) -> FactKind | None:
    """The fact that brings an assembly into the stated state, or None where it is there."""
    moves = [f for f in kept if f.kind in _STATES]
    now = max(moves, key=lambda fact: (fact.on, fact.id), default=None)
    state = _STATES[now.kind] if now else StatedStatus.ACTIVE
    if state is said:
        return None
    return next(kind for kind, meant in _STATES.items() if meant is said)


def _dated_by_load(*, kind: FactKind, said: StatedStatus, as_of: date) -> AddedFact:
    return AddedFact(
        kind=kind,
        on=as_of,
        source=LOADED,
        reason=f"The sheet says {said.value} without a day; dated by the load of {as_of}.",
        detail={"dated_by": "load"},
    )
