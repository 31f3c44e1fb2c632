"""A notice: one rung, and occurrence, of one matter; recorded once."""

from __future__ import annotations

from django.db import models

from registry.models import Assembly, Premises, Program
from scheduling.models import DayRun, Obligation


class Notice(models.Model):
    """One rung owed for one matter; unique on matter, rung and occurrence."""

    # No index of its own: `notice_by_day` and `notice_once` begin with it.
    program = models.ForeignKey(
        Program, on_delete=models.CASCADE, related_name="notices", db_index=False
    )
    matter_kind = models.CharField(max_length=20, default="obligation")
    matter_key = models.CharField(max_length=80, help_text="Names the matter, e.g. obligation:12")
    obligation = models.ForeignKey(
        Obligation, null=True, blank=True, on_delete=models.CASCADE, related_name="notices"
    )
    assembly = models.ForeignKey(
        Assembly, null=True, blank=True, on_delete=models.CASCADE, related_name="notices"
    )
    premises = models.ForeignKey(Premises, on_delete=models.CASCADE, related_name="notices")
    rung = models.CharField(max_length=40)
    occurrence = models.CharField(max_length=40, default="1")
    owed_on = models.DateField(help_text="The day the ladder set for it")
    recorded_on = models.DateField(help_text="The run's day")
    run = models.ForeignKey(
        DayRun, null=True, blank=True, on_delete=models.SET_NULL, related_name="notices"
    )
    reasons = models.JSONField(default=list)
    citation = models.CharField(max_length=500, blank=True, default="")
    left_on = models.DateField(
        null=True, blank=True, help_text="The day the last letter the rung needs had left"
    )
    withdrawn_on = models.DateField(null=True, blank=True)
    withdrawn_reason = models.CharField(max_length=500, blank=True, default="")
    sent_in_error_on = models.DateField(null=True, blank=True)
    sent_in_error_reason = models.CharField(max_length=500, blank=True, default="")
    sent_in_error_by = models.CharField(
        max_length=150, blank=True, default="", help_text="Who found it, or the run of the day"
    )
    is_brought_along = models.BooleanField(
        default=False, help_text="Left before the office came here, as stated; no letter is kept"
    )

    class Meta:
        ordering = ("recorded_on", "id")
        constraints = [
            models.UniqueConstraint(
                fields=("program", "matter_key", "rung", "occurrence"), name="notice_once"
            )
        ]
        indexes = [
            models.Index(fields=("program", "recorded_on"), name="notice_by_day"),
            models.Index(
                fields=("program", "obligation"),
                condition=models.Q(left_on__isnull=True, withdrawn_on__isnull=True),
                name="notice_waiting",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.rung} for {self.matter_key}"
