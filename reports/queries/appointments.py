"""Visits whose customers are to be told something, and the telephone calls that are due."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from datetime import datetime

from django.db.models import QuerySet

from notices.queries.responsible import Recipient, recipient_keys, recipients
from registry.domain.emails import read_email
from registry.models import Premises, Program
from reports.domain.appointment_letters import AppointmentLetter
from reports.domain.appointments import Standing, ToldBy, ToSay, to_say
from reports.models import AppointmentTold, Stop
from scheduling.views.desk import day_at


@dataclass(frozen=True, kw_only=True)
class Telling:
    """One visit with what is to be said of it, and to whom."""

    stop: Stop | None
    premises: Premises
    say: ToSay
    holds: Standing | None
    told: AppointmentTold | None
    recipient: Recipient
    email: str

    @property
    def stands(self) -> Standing:
        """The visit as it holds now, or as it was told where it holds no more."""
        found = self.holds or _known(self.told)
        assert found is not None
        return found

    @property
    def sequence(self) -> int:
        """The number of the word that is to be said: one more than the last."""
        return 0 if self.told is None else self.told.sequence + 1

    @property
    def uid(self) -> str:
        """The visit's name in the customer's calendar; it stays through every change."""
        if self.told is not None:
            return self.told.uid
        assert self.stop is not None
        return f"visit-{self.stop.uid}"

    @property
    def key(self) -> str:
        """Names what is to be said, so that a page says the same as was shown."""
        return f"{self.uid}/{self.sequence}/{self.say.kind}"


def to_tell(
    program: Program, *, now: datetime, firms: Collection[int] | None = None
) -> list[Telling]:
    """What is to be said of visits ahead, soonest first; of these companies' rounds alone."""
    promised = _promised(program, now=now, firms=firms)
    told = _told_last(program, now=now, stops=promised, firms=firms)
    rows = {stop.pk: stop for stop in promised}
    keys = {pk: (rows.get(pk), told.get(pk)) for pk in dict.fromkeys([*rows, *told])}
    where = {pk: _premises(stop, last) for pk, (stop, last) in keys.items()}
    addressed = recipient_keys([one.pk for one in where.values()], today=day_at(program))
    people = recipients(addressed.values())
    found = []
    for pk, (stop, last) in keys.items():
        to = people[addressed[where[pk].pk]]
        email = read_email(to.party.email).value if to.party else ""
        holds, known = _holds(stop), _known(last)
        say = to_say(now=now, holds=holds, told=known, has_email=bool(email))
        if say is not None:
            found.append(
                Telling(
                    stop=stop, premises=where[pk], say=say, holds=holds, told=last,
                    recipient=to, email=email if say.by is ToldBy.EMAIL else "",
                )
            )  # fmt: skip
    return sorted(found, key=_when)


def calls_due(
    program: Program, *, firms: Collection[int] | None = None, now: datetime | None = None
) -> QuerySet[AppointmentTold]:
    """Calls that nobody has made yet, the soonest visit first; with `now` of visits ahead alone."""
    found = AppointmentTold.objects.filter(program=program, call_due=True)
    if now is not None:
        found = found.filter(starts_at__gt=now)
    if firms is not None:
        found = found.filter(stop__round__firm__in=firms)
    return found.select_related("premises", "stop").order_by("starts_at", "pk")


def _promised(program: Program, *, now: datetime, firms: Collection[int] | None) -> list[Stop]:
    found = Stop.objects.filter(
        program=program,
        promised_at__isnull=False,
        cancelled_at__isnull=True,
        round__isnull=False,
        second_of__isnull=True,
        arrives_at__gt=now,
    )
    if firms is not None:
        found = found.filter(round__firm__in=firms)
    return list(
        found.select_related("premises", "round__tester", "round__firm").order_by("arrives_at")
    )


def _told_last(
    program: Program,
    *,
    now: datetime,
    stops: Collection[Stop],
    firms: Collection[int] | None,
) -> dict[int, AppointmentTold]:
    """The last word about each stop that was spoken of, where the visit told is still ahead."""
    ahead = AppointmentTold.objects.filter(program=program, starts_at__gt=now)
    if firms is not None:
        ahead = ahead.filter(stop__round__firm__in=firms)
    rows = ahead | AppointmentTold.objects.filter(stop__in=[stop.pk for stop in stops])
    last: dict[int, AppointmentTold] = {}
    for one in rows.distinct().select_related("premises", "stop").order_by("sequence", "pk"):
        if one.stop_id is not None:
            last[one.stop_id] = one
    return last


def _premises(stop: Stop | None, last: AppointmentTold | None) -> Premises:
    if stop is not None:
        return stop.premises
    assert last is not None
    return last.premises


def _holds(stop: Stop | None) -> Standing | None:
    if stop is None or stop.round is None:
        return None
    tester = stop.round.tester
    return Standing(stop.arrives_at, stop.leaves_at, tester.name or tester.certificate)


def _known(last: AppointmentTold | None) -> Standing | None:
    """What the customer goes by now; nothing where the last word was that nobody comes."""
    if last is None or last.kind == AppointmentLetter.OFF:
        return None
    return Standing(last.starts_at, last.ends_at, last.tester)


def _when(one: Telling) -> tuple[datetime, int]:
    return one.stands.starts_at, one.premises.pk
