"""Going live with very many overdue, lived to the end: each lawful step, once, in its time.

What each case must have been through is written down here from the words of the rulebook
`plain-rolling` (rules 1, 2, 7 and 8), not asked of the ladder: overdue notices the day after
the due date, at least 14 days after the first left, at least 15 after the second, an order
at least 10 after the last; a device put in, or failed, is written to about that before.
"""

from __future__ import annotations

import hashlib
import sys
from collections import Counter
from datetime import date
from itertools import pairwise

import pytest

from notices.actions import leaving
from notices.actions.pacing import move_group, take_move_back
from notices.domain.pacing import MoveBy
from notices.models import Letter, LetterNotice, Notice
from notices.rendering.letters import RenderedLetter
from registry.changes import Hand
from registry.models import Assembly
from scheduling.domain.facts import FactKind
from scheduling.models import Obligation
from tests.notices.offices import START
from tests.notices.staging import DAY, Lived, Staging, comes_in, noon, put_in, staging

pytestmark = pytest.mark.django_db

OVERDUE = ("first-overdue", "second-overdue", "final")
GAPS = {"second-overdue": 14, "final": 15, "shutoff-order": 10}
"""Rule 7: least days from the mailing of the step before."""

FORWARD = "Hospital Road"
MOVED_ON, TAKEN_BACK_ON = 4, 9
"""Days from the first on which that street is moved forward, and let stand again."""

LEAST_DAYS = sum(GAPS.values())
"""The last of the three steps and its order cannot have come sooner for anybody."""


def steps_of(one: Assembly) -> list[Notice]:
    """The notices of an assembly that a law asks for, in the order in which they came."""
    rows = Notice.objects.filter(assembly=one).exclude(rung__endswith="reminder")
    return list(rows.order_by("recorded_on", "pk"))


def faults_of(one: Assembly, *, before: tuple[str, ...], is_over: bool) -> list[str]:
    """What a case was spared, got twice, or got too early. `is_over`: it must have had all."""
    steps = steps_of(one)
    wanted = (*before, *OVERDUE, "shutoff-order")
    had = tuple(step.rung for step in steps)
    found = [] if had == wanted[: len(had)] else [f"{one}: {had} is not {wanted}"]
    if is_over and len(had) < len(wanted):
        found.append(f"{one}: had only {had}")
    for earlier, later in pairwise(steps):
        if earlier.left_on is None:
            found.append(f"{one}: {later.rung} while {earlier.rung} had not left")
            continue
        least = earlier.left_on + GAPS.get(later.rung, 1) * DAY
        began = later.left_on or later.recorded_on
        if min(began, later.recorded_on) < least:
            found.append(f"{one}: {later.rung} on {began}, not before {least}")
    return found


def letters_of_a_notice() -> Counter[int]:
    """Of how many letters that left or stand each notice is part."""
    rows = LetterNotice.objects.filter(is_live=True).values_list("notice", flat=True)
    return Counter(rows)


def follows(lived: Lived, *, a_day: int) -> list[str]:
    """What a day did against its own page: more than the number, or in another order."""
    found = []
    if len(lived.written) > a_day:
        found.append(f"{lived.on}: {len(lived.written)} letters")
    # What is owed anew this very day stands at its own place; the rest goes as shown.
    # A reminder that waited is passed over once the next one is owed.
    written = set(lived.written)
    stood = [line for line in lived.shown if line in written or not line[1].endswith("reminder")]
    on_page = set(lived.shown)
    as_shown = [line for line in lived.written if line in on_page]
    if as_shown != stood[: len(as_shown)]:
        found.append(f"{lived.on}: {as_shown} is not {stood}")
    if lived.waiting and len(lived.written) < a_day:
        found.append(f"{lived.on}: {lived.waiting} wait and only {len(lived.written)} went")
    return found


class Meanwhile:
    """What comes in while the backlog is staged: passes, failures, devices put in."""

    def __init__(self, office: Staging, *, each: int) -> None:
        """`each`: on every so many days one of each kind."""
        self.office, self.each = office, each
        self.passed: list[Assembly] = []
        self.failed: list[Assembly] = []
        self.made: dict[int, date] = {}
        self.new: list[Assembly] = []

    def __call__(self, on: date) -> None:
        """What comes in on a day."""
        number = (on - START).days
        if not 3 <= number < 30 or number % self.each:
            return
        turn = number // self.each
        self.passed.append(self.office.overdue[turn * 5 + 1])
        comes_in(self.passed[-1], FactKind.PASSED, on=on)
        self.failed.append(self.office.coming[-turn])  # due in the end, not overdue
        comes_in(self.failed[-1], FactKind.FAILED, on=on)
        self.new.append(put_in(self.office.program, 90_000 + number, on=on))


def lived_to_the_end(office: Staging, meanwhile: Meanwhile, *, a_day: int, most: int) -> list[str]:
    """Live until nothing waits and every case has its order prepared; return what went wrong."""
    wrong: list[str] = []
    move, shown = None, []
    for number in range(most):
        hand = Hand(by="Iva Brandt", at=noon(office.today), reason="Dug up in March.")
        if number == MOVED_ON:
            move = move_group(
                program=office.program, group=MoveBy.STREET, value=FORWARD, is_forward=True,
                hand=hand,
            )  # fmt: skip
            shown = office.page()
        if number == TAKEN_BACK_ON and move is not None:
            take_move_back(program=office.program, pk=move.pk, hand=hand)
            shown = office.page()
        shown = office.live(shown, meanwhile)
        lived = office.days[-1]
        wrong += follows(lived, a_day=a_day)
        if MOVED_ON <= number < TAKEN_BACK_ON:
            wrong += not_forward(lived)
        if not shown and number > LEAST_DAYS and is_through(office):
            return wrong
    return [*wrong, f"not through after {most} days"]


def not_forward(lived: Lived) -> list[str]:
    """Lines of the moved street that stand behind others on the page."""
    is_of = [int(to.split()[1]) % 5 == 2 for to, _ in lived.shown]
    ahead = is_of.index(False) if False in is_of else len(is_of)
    return [f"{lived.on}: {FORWARD} behind others"] if any(is_of[ahead:]) else []


def is_through(office: Staging) -> bool:
    """Whether every case of the backlog that is still open has its order prepared."""
    still = Obligation.objects.filter(
        assembly__in=[one.pk for one in office.overdue],
        closed_on__isnull=True,
        opened_on__isnull=False,
        due_on__lt=START,
    )
    ordered = Notice.objects.filter(rung="shutoff-order").values("obligation")
    return not still.exclude(pk__in=ordered).exists()


def all_faults(office: Staging, meanwhile: Meanwhile) -> list[str]:
    """What any case was spared, got twice, or got too early."""
    found = [f"notice {pk} in {n} letters" for pk, n in letters_of_a_notice().items() if n > 1]
    for number, one in enumerate(office.overdue):
        before = ("repair",) if number % 10 == 3 else ()
        found += faults_of(one, before=before, is_over=one not in meanwhile.passed)
    for one in office.coming:
        before = ("repair",) if one in meanwhile.failed else ()
        found += faults_of(one, before=before, is_over=False)
    for one in meanwhile.new:
        found += faults_of(one, before=("test-owed",), is_over=False)
    return found


def lived(*, overdue: int, coming: int, a_day: int, each: int) -> Staging:
    """Live an office to the end of its staging, and find nothing wrong."""
    office = staging(overdue=overdue, coming=coming, a_day=a_day)
    meanwhile = Meanwhile(office, each=each)
    assert lived_to_the_end(office, meanwhile, a_day=a_day, most=150) == []
    assert all_faults(office, meanwhile) == []
    assert len(meanwhile.passed) == len(meanwhile.failed) == len(meanwhile.new) > 0
    first = Notice.objects.filter(rung="first-overdue", assembly__in=office.overdue)
    assert first.filter(left_on__isnull=False).count() >= overdue - len(meanwhile.passed)
    return office


@pytest.mark.slow
def test_a_backlog_is_staged_to_the_end_and_nobody_skips_a_step() -> None:
    lived(overdue=40, coming=20, a_day=7, each=6)


@pytest.mark.bench
def test_four_thousand_overdue_are_staged_to_the_end(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    # The letters' words and order are what is looked at here; drawing them has tests of its own.
    bare = b"%PDF-"
    blank = RenderedLetter(pdf=bare, sha256=hashlib.sha256(bare).hexdigest(), pages=1, flags=())
    monkeypatch.setattr(leaving, "render", lambda *_args, **_more: blank)
    office = lived(overdue=4_000, coming=200, a_day=400, each=3)
    kinds = Counter(Letter.objects.values_list("kind", flat=True))
    fullest, most = (len(d.written) for d in office.days), (d.waiting for d in office.days)
    told = f"{len(office.days)} days, {max(fullest)} letters a day, {max(most)} waiting, {kinds}\n"
    with capsys.disabled():
        sys.stdout.write(told)
