"""Calendar feeds: a secret address for a tester, a premises or a program, and what it showed."""

from __future__ import annotations

from django.db import models

from registry.models import Premises, Program, Tester


class CalendarFeed(models.Model):
    """One reader's address; only the hash of its secret is kept, and it can be revoked.

    With a tester and a program it shows that tester's visits for that program alone.
    """

    program = models.ForeignKey(
        Program, null=True, blank=True, on_delete=models.CASCADE, related_name="feeds"
    )
    premises = models.ForeignKey(
        Premises, null=True, blank=True, on_delete=models.CASCADE, related_name="feeds"
    )
    tester = models.ForeignKey(
        Tester, null=True, blank=True, on_delete=models.CASCADE, related_name="feeds"
    )
    secret_hash = models.CharField(max_length=64, unique=True, help_text="SHA-256 of the secret")
    reader = models.CharField(max_length=80, help_text="Who or what reads it, in the maker's words")
    made_at = models.DateTimeField()
    made_by = models.CharField(max_length=150)
    revoked_at = models.DateTimeField(null=True, blank=True)
    last_read_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ("made_at", "id")
        constraints = [
            models.CheckConstraint(
                condition=(
                    models.Q(program__isnull=False, premises__isnull=True, tester__isnull=True)
                    | models.Q(program__isnull=True, premises__isnull=False, tester__isnull=True)
                    | models.Q(premises__isnull=True, tester__isnull=False)
                ),
                name="feed_shows_one_thing",
            )
        ]

    def __str__(self) -> str:
        return f"calendar of {self.tester or self.premises or self.program}"


class FeedEntry(models.Model):
    """One event as the feed last showed it."""

    feed = models.ForeignKey(CalendarFeed, on_delete=models.CASCADE, related_name="entries")
    uid = models.CharField(max_length=255)
    shown = models.JSONField()
    sequence = models.PositiveIntegerField()
    revised_at = models.DateTimeField()
    cancelled_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints = [models.UniqueConstraint(fields=("feed", "uid"), name="feed_entry_once")]

    def __str__(self) -> str:
        return self.uid
