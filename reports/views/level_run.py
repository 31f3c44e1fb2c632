"""A levelling on its way: solved beside the request, its answer kept an hour for one person."""

from __future__ import annotations

import hashlib
import logging
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any, Final

from django.utils import timezone

from scheduling import background
from scheduling.actions.levelling import Proposal, Wish, check_wish, proposal_of
from scheduling.domain.level_periods import Capacity, Per, periods_of
from scheduling.domain.level_visits import Duty
from scheduling.domain.levelling import Levelling, level
from scheduling.queries.levelling import Owed, owed_between
from scheduling.views.desk import Desk
from scheduling.views.uploads import AN_HOUR, kept_for, session_store

logger = logging.getLogger(__name__)

WAIT_SECONDS: Final = 2.0
"""How long the request that asks waits for a quick answer."""

LONGEST: Final = timedelta(minutes=30)
"""After so long without an answer the solver is taken to be gone."""

GONE: Final = "The solver has not answered. Propose it again; a smaller stretch is quicker."
CHANGED: Final = "The registry has changed since this was worked out. Propose it again."
_KEY: Final = "levelling"


@dataclass(frozen=True, kw_only=True)
class LevelRun:
    """What was asked, since when, and the answer once there is one."""

    token: str
    wish: Wish
    since: datetime
    refusal: str = ""
    proposal: Proposal | None = None

    @property
    def seconds(self) -> int:
        """For how long it has been under way."""
        return int((timezone.now() - self.since).total_seconds())

    @property
    def is_under_way(self) -> bool:
        """Whether the solver is still at work."""
        return self.proposal is None and not self.refusal


def begin(desk: Desk, wish: Wish) -> str:
    """Start solving, and return the token under which the answer is found. Raises LevelError."""
    check_wish(wish)
    duties = owed_between(desk.program, first=wish.first, last=wish.last).duties
    store = session_store()
    store[_KEY] = {
        "program": desk.program.pk,
        "person": desk.person.pk,
        "wish": [wish.capacity.number, wish.capacity.per.value, *_iso(wish.first, wish.last)],
        "since": timezone.now().isoformat(),
        "duties": _digest(duties),
    }
    store.set_expiry(AN_HOUR)
    store.create()
    token = store.session_key or ""
    background.begin(lambda: _solve(token, duties=duties, wish=wish), wait_seconds=WAIT_SECONDS)
    return token


def kept_run(desk: Desk, token: str) -> LevelRun | None:
    """The run of a token, if this person began it for this program within the hour."""
    kept = kept_for(desk, token=token, key=_KEY)
    if kept is None:
        return None
    number, per, first, last = kept["wish"]
    wish = Wish(
        capacity=Capacity(number=number, per=Per(per)),
        first=date.fromisoformat(first),
        last=date.fromisoformat(last),
    )
    since = datetime.fromisoformat(kept["since"])
    answer = kept.get("answer")
    if answer is None:
        refusal = kept.get("refusal", "") or (GONE if timezone.now() - since > LONGEST else "")
        return LevelRun(token=token, wish=wish, since=since, refusal=refusal)
    owed = owed_between(desk.program, first=wish.first, last=wish.last)
    if _digest(owed.duties) != kept["duties"]:
        return LevelRun(token=token, wish=wish, since=since, refusal=CHANGED)
    proposal = _proposal(wish, owed=owed, answer=answer)
    return LevelRun(token=token, wish=wish, since=since, proposal=proposal)


def _solve(token: str, *, duties: Sequence[Duty], wish: Wish) -> None:
    """Solve, and keep the answer; what stops the solver is told to the person who waits."""
    store = session_store(token)
    kept = store[_KEY]
    try:
        found = level(duties=duties, capacity=wish.capacity, first=wish.first, last=wish.last)
    except Exception:
        logger.exception("The levelling of %s to %s stopped", wish.first, wish.last)
        store[_KEY] = {**kept, "refusal": "The solver stopped. The log of the server says why."}
    else:
        store[_KEY] = {**kept, "answer": _answer(found)}
    store.save()


def _answer(found: Levelling) -> dict[str, Any]:
    return {
        "targets": {str(key): day.isoformat() for key, day in found.targets.items()},
        "loads": list(found.loads),
        "lost_days": found.lost_days,
        "visits": found.visits,
        "is_proven": found.is_proven,
        "enough": found.enough,
    }


def _proposal(wish: Wish, *, owed: Owed, answer: Mapping[str, Any]) -> Proposal:
    found = Levelling(
        targets={int(key): date.fromisoformat(day) for key, day in answer["targets"].items()},
        loads=tuple(answer["loads"]),
        periods=periods_of(capacity=wish.capacity, first=wish.first, last=wish.last),
        lost_days=answer["lost_days"],
        visits=answer["visits"],
        is_proven=answer["is_proven"],
        enough=answer["enough"],
    )
    return proposal_of(wish=wish, owed=owed, found=found)


def _digest(duties: Sequence[Duty]) -> str:
    """Tells whether what is owed is still what was levelled."""
    lines = sorted(f"{d.key} {d.place} {d.from_on} {d.due_on} {d.loses_days}" for d in duties)
    return hashlib.sha256("\n".join(lines).encode()).hexdigest()[:24]


def _iso(*days: date) -> list[str]:
    return [day.isoformat() for day in days]
