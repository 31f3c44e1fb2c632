"""A plan on its way: worked out beside the request, told as it gets better, kept an hour."""

from __future__ import annotations

import logging
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from typing import Any, Final

from django.utils import timezone

from reports.rounds.past import past_again
from reports.rounds.planning import Asked, Planned, PlanRefusedError, Wish, ask, keep
from reports.rounds.proposed import digest_of, plain_plan, solved_again
from reports.rounds.shares import Companies
from scheduling import background, solver
from scheduling.solver import Effort, Progress, Solved
from scheduling.views.desk import Desk
from scheduling.views.uploads import AN_HOUR, kept_for, session_store

logger = logging.getLogger(__name__)

WAIT_SECONDS: Final = 1.5
LONGEST: Final = timedelta(minutes=30)
CHANGED: Final = (
    "What is due, the planned days, the testers or a promise have changed since: plan again."
)
GONE: Final = "The planner has not answered. Plan again, with fewer days or seconds."
_KEY: Final = "plan"


@dataclass(frozen=True, kw_only=True)
class PlanRun:
    """What was asked, how far the search is, and the plan once there is one."""

    token: str
    wait: str
    wish: Wish
    since: datetime
    progress: dict[str, Any] = field(default_factory=dict)
    refusal: str = ""
    answer: dict[str, Any] | None = None

    @property
    def seconds(self) -> int:
        """For how long it has been under way."""
        return int((timezone.now() - self.since).total_seconds())

    @property
    def is_under_way(self) -> bool:
        """Whether the search still goes on."""
        return self.answer is None and not self.refusal


def begin(
    desk: Desk,
    *,
    first_day: date,
    days: int,
    seconds: int,
    seed: int,
    now: datetime | None = None,
    companies: Companies = (),
) -> str:
    """Start the search, and return the token under which it is found."""
    # Kept apart from what the search writes, so that neither overwrites the other.
    wait = session_store()
    wait["enough"] = False
    wait.set_expiry(AN_HOUR)
    wait.create()
    store = session_store()
    store[_KEY] = {
        "wait": wait.session_key,
        "program": desk.program.pk,
        "person": desk.person.pk,
        "wish": [first_day.isoformat(), days, seconds, seed, desk.today.isoformat()],
        "now": now.isoformat() if now else "",
        "companies": list(companies),
        "since": timezone.now().isoformat(),
    }
    store.set_expiry(AN_HOUR)
    store.create()
    token = store.session_key or ""
    effort = Effort(seconds=seconds, seed=seed)
    wish = Wish(first_day, days, desk.today, effort, now, stay_minutes=None, companies=companies)
    background.begin(
        lambda: _search(desk, token, wait=wait.session_key or "", wish=wish),
        wait_seconds=WAIT_SECONDS,
    )
    return token


def enough(run: PlanRun) -> None:
    """Ask the search to stop, and to take the best plan so far."""
    store = session_store(run.wait)
    store["enough"] = True
    store.save()


def kept_run(desk: Desk, token: str) -> PlanRun | None:
    """The run of a token, if this person began it for this program within the hour."""
    kept = kept_for(desk, token=token, key=_KEY)
    if kept is None:
        return None
    first_day, days, seconds, seed, today = kept["wish"]
    now = kept.get("now", "")
    since = datetime.fromisoformat(kept["since"])
    refusal = kept.get("refusal", "")
    if not refusal and "answer" not in kept and timezone.now() - since > LONGEST:
        refusal = GONE
    return PlanRun(
        token=token,
        wait=kept["wait"],
        wish=Wish(
            date.fromisoformat(first_day),
            days,
            date.fromisoformat(today),
            Effort(seconds=seconds, seed=seed),
            datetime.fromisoformat(now) if now else None,
            stay_minutes=None,
            companies=tuple(kept.get("companies", ())),
        ),
        since=since,
        progress=kept.get("progress", {}),
        refusal=refusal,
        answer=kept.get("answer"),
    )


def proposal(desk: Desk, run: PlanRun) -> tuple[Asked, Solved] | None:
    """The plan as it was found, checked anew; None where there is something else to plan now."""
    assert run.answer is not None
    past = past_again(run.answer["past"])
    asked = ask(program=desk.program, wish=run.wish, past=past)
    if digest_of(asked) != run.answer["digest"]:
        return None
    return asked, solved_again(run.answer["plan"], asked)


def accept(desk: Desk, run: PlanRun) -> Planned:
    """Keep the plan that was seen. Raises PlanRefusedError where there is another to make now."""
    found = proposal(desk, run) if run.answer is not None else None
    if found is None:
        raise PlanRefusedError(CHANGED)
    asked, solved = found
    if not solved.is_feasible:
        raise PlanRefusedError("The check found a broken rule: plan again, or change by hand.")
    return keep(asked, solved=solved, hand=desk.hand())


def _search(desk: Desk, token: str, *, wait: str, wish: Wish) -> None:
    """Look for a plan, and keep how far it is and what came of it."""
    try:
        asked = ask(program=desk.program, wish=wish)
        total = len(asked.week.problem.visits)

        def tell(progress: Progress) -> None:
            _keep(token, progress=_progress(progress, total=total))

        _keep(token, progress={"visits": total})
        solved = solver.solve(
            asked.week.problem,
            effort=wish.effort,
            progress=tell,
            is_enough=lambda: _is_enough(wait),
        )
        answer = {
            "plan": plain_plan(solved.plan),
            "digest": digest_of(asked),
            "past": asked.past.plain(),
            "notes": solved.notes,
        }
        _keep(token, answer=answer)
    except Exception:
        logger.exception("The plan from %s stopped", wish.first_day)
        _keep(token, refusal="The planner stopped. The log of the server says why.")


def _progress(progress: Progress, *, total: int) -> dict[str, Any]:
    return {
        "visits": total,
        "planned": progress.planned,
        "drive_minutes": progress.drive_minutes,
        "iterations": progress.iterations,
        "part": progress.part,
        "parts": progress.parts,
    }


def _keep(token: str, **told: Any) -> None:
    store = session_store(token)
    store[_KEY] = {**store.get(_KEY, {}), **told}
    store.save()


def _is_enough(wait: str) -> bool:
    return bool(session_store(wait).get("enough"))
