"""Calendar feeds made, read and revoked; a reading keeps what it showed, so that changes tell."""

from __future__ import annotations

import secrets
from collections.abc import Sequence
from datetime import date, datetime, timedelta
from hashlib import sha256

from django.conf import settings
from django.db import transaction
from django.db.models import Q
from django.urls import reverse

from registry.changes import Hand
from registry.models import Premises, Program, Tester
from reports.domain.calendar_events import (
    CalendarEvent,
    KeptEvent,
    read_back,
    settled,
    written_out,
)
from reports.models import CalendarFeed, FeedEntry

READ_TOLD_EVERY = timedelta(minutes=10)
_SECRET_BYTES = 32


def make_feed(
    subject: Tester | Premises | Program,
    *,
    reader: str,
    hand: Hand,
    only: Program | None = None,
    site: str = "",
) -> tuple[CalendarFeed, str]:
    """Make a feed and return it with its address, which can never be shown again.

    With `only`, a tester's calendar shows the visits for that program alone. `site` is where this
    site is reached, without a slash at the end; empty: as the settings say.
    """
    secret = secrets.token_urlsafe(_SECRET_BYTES)
    feed = CalendarFeed.objects.create(
        program=subject if isinstance(subject, Program) else only,
        premises=subject if isinstance(subject, Premises) else None,
        tester=subject if isinstance(subject, Tester) else None,
        secret_hash=hash_of(secret),
        reader=reader,
        made_at=hand.at,
        made_by=hand.by,
    )
    return feed, f"{site or settings.BASE_URL}{reverse('calendar-feed', args=[secret])}"


def revoke_feed(feed: CalendarFeed, *, at: datetime) -> bool:
    """Close an address for good; False when it was closed already."""
    row = CalendarFeed.objects.filter(pk=feed.pk, revoked_at__isnull=True)
    return row.update(revoked_at=at) == 1


def feed_of(secret: str) -> CalendarFeed | None:
    """The feed of an address; None for one that never was or that is revoked."""
    live = CalendarFeed.objects.filter(secret_hash=hash_of(secret), revoked_at__isnull=True)
    return live.select_related("program", "premises__program", "tester__firm").first()


def hash_of(secret: str) -> str:
    """What is kept of an address's secret."""
    return sha256(secret.encode()).hexdigest()


def show(
    feed: CalendarFeed, events: Sequence[CalendarEvent], *, at: datetime
) -> tuple[KeptEvent, ...]:
    """Return what the feed shows now, and keep what is new in it.

    Two readings at once take turns: neither raises a SEQUENCE twice for one change.
    """
    with transaction.atomic():
        CalendarFeed.objects.select_for_update().get(pk=feed.pk)
        change = settled(events, kept=_kept(feed), at=at)
        FeedEntry.objects.filter(feed=feed, uid__in=change.forgotten).delete()
        FeedEntry.objects.bulk_create(
            [_row(feed, one) for one in change.written],
            update_conflicts=True,
            unique_fields=["feed", "uid"],
            update_fields=["shown", "sequence", "revised_at", "cancelled_at"],
        )
        told = Q(last_read_at__isnull=True) | Q(last_read_at__lt=at - READ_TOLD_EVERY)
        CalendarFeed.objects.filter(told, pk=feed.pk).update(last_read_at=at)
    return change.shown


def shows_since(today: date) -> date:
    """From which day on visits stand in a feed: a month back, so that a reader keeps them."""
    return today - timedelta(days=31)


def _kept(feed: CalendarFeed) -> dict[str, KeptEvent]:
    return {
        row.uid: KeptEvent(
            event=read_back(row.shown),
            sequence=row.sequence,
            revised_at=row.revised_at,
            cancelled_at=row.cancelled_at,
        )
        for row in feed.entries.all()
    }


def _row(feed: CalendarFeed, one: KeptEvent) -> FeedEntry:
    return FeedEntry(
        feed=feed,
        uid=one.event.uid,
        shown=written_out(one.event),
        sequence=one.sequence,
        revised_at=one.revised_at,
        cancelled_at=one.cancelled_at,
    )
