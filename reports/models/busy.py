"""Hours when a tester cannot be planned, from calendars handed in; never what they are for."""

from __future__ import annotations

from django.db import models

from registry.models import Tester


class BusyCalendar(models.Model):
    """One calendar of a tester as it was last handed in; handed in again it is replaced whole."""

    tester = models.ForeignKey(Tester, on_delete=models.CASCADE, related_name="busy_calendars")
    name = models.CharField(max_length=80)
    sha256 = models.CharField(max_length=64, help_text="Of the file as it came")
    read_at = models.DateTimeField()
    by = models.CharField(max_length=150)
    until_on = models.DateField(help_text="Repeating entries were followed until this day")

    class Meta:
        ordering = ("name", "pk")
        constraints = [
            models.UniqueConstraint(fields=("tester", "name"), name="busy_calendar_once")
        ]

    def __str__(self) -> str:
        return f"{self.name} of {self.tester}"


class BusySpan(models.Model):
    """One stretch of time from such a calendar."""

    calendar = models.ForeignKey(BusyCalendar, on_delete=models.CASCADE, related_name="spans")
    starts_at = models.DateTimeField()
    ends_at = models.DateTimeField()

    class Meta:
        ordering = ("starts_at", "pk")
        constraints = [
            models.CheckConstraint(
                condition=models.Q(ends_at__gt=models.F("starts_at")), name="busy_runs_forward"
            )
        ]
        indexes = [models.Index(fields=("calendar", "ends_at"), name="busy_by_end")]

    def __str__(self) -> str:
        return f"{self.starts_at:%Y-%m-%d %H:%M} to {self.ends_at:%H:%M}"
