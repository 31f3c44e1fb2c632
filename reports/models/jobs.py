"""What lets a visit be planned where not all that is due is assigned: jobs, and calls made."""

from __future__ import annotations

from typing import ClassVar

from django.db import models

from registry.models import Firm, Premises, Program
from scheduling.domain.rounds.staying import USUAL_MINUTES


class Job(models.Model):
    """A customer's request for a visit: who asked and when, who pays, repair up to how much.

    It covers what falls due at the premises by ``covers_until``; without one it stands until it is
    cancelled.
    """

    program = models.ForeignKey(Program, on_delete=models.CASCADE, related_name="jobs")
    premises = models.ForeignKey(Premises, on_delete=models.CASCADE, related_name="jobs")
    firm = models.ForeignKey(
        Firm,
        null=True,
        blank=True,
        on_delete=models.SET_NULL,
        related_name="jobs",
        help_text="The testing company asked; empty: any that is approved",
    )
    asked_by = models.CharField(max_length=200, help_text="Who asked for it")
    asked_on = models.DateField()
    covers_until = models.DateField(null=True, blank=True)
    bill_to = models.CharField(max_length=300, blank=True, default="")
    repair_up_to = models.DecimalField(
        max_digits=9, decimal_places=2, null=True, blank=True, help_text="Dollars; empty: ask first"
    )
    notes = models.CharField(max_length=500, blank=True, default="")
    recorded_at = models.DateTimeField()
    by = models.CharField(max_length=150)
    cancelled_at = models.DateTimeField(null=True, blank=True)
    cancelled_by = models.CharField(max_length=150, blank=True, default="")
    cancelled_why = models.CharField(max_length=300, blank=True, default="")

    class Meta:
        ordering = ("-asked_on", "-id")
        indexes: ClassVar = [
            models.Index(
                fields=("program", "premises"),
                condition=models.Q(cancelled_at__isnull=True),
                name="job_standing",
            )
        ]

    def __str__(self) -> str:
        return f"{self.premises}, asked by {self.asked_by} on {self.asked_on}"


class CallMade(models.Model):
    """A telephone call about due work, and what came of it."""

    AGAIN, NO, ORDERED = "again", "no", "ordered"
    OUTCOMES: ClassVar = [
        (AGAIN, "call again"),
        (NO, "does not want it"),
        (ORDERED, "asked for it"),
    ]

    program = models.ForeignKey(Program, on_delete=models.CASCADE, related_name="calls_made")
    premises = models.ForeignKey(Premises, on_delete=models.CASCADE, related_name="calls_made")
    outcome = models.CharField(max_length=10, choices=OUTCOMES)
    again_on = models.DateField(null=True, blank=True)
    for_due_on = models.DateField(
        null=True,
        blank=True,
        help_text="The latest day then due; a no holds for it",
    )
    job = models.ForeignKey(
        Job, null=True, blank=True, on_delete=models.SET_NULL, related_name="calls_made"
    )
    words = models.CharField(max_length=300, blank=True, default="")
    at = models.DateTimeField()
    by = models.CharField(max_length=150)

    class Meta:
        ordering = ("-at", "-id")

    def __str__(self) -> str:
        return f"{self.premises}: {self.get_outcome_display()}"


class PlanningRules(models.Model):
    """How a program's days are planned, where it is not as usual."""

    program = models.OneToOneField(Program, on_delete=models.CASCADE, related_name="planning_rules")
    due_is_assigned = models.BooleanField(
        null=True,
        blank=True,
        help_text="All that is due may be visited, also where it is empty",
    )
    learns_minutes = models.BooleanField(default=True)
    places_by_zip = models.BooleanField(default=False)
    holidays_off = models.BooleanField(
        default=True, help_text="Nobody is planned on public holidays of the program's state"
    )
    stay_minutes = models.PositiveSmallIntegerField(
        default=USUAL_MINUTES,
        help_text="Driving that moving a planned visit must save, in minutes",
    )
    parts_from_in = models.DecimalField(
        max_digits=6,
        decimal_places=3,
        null=True,
        blank=True,
        help_text="Assemblies of this size and larger take a place in the van; empty: none does",
    )
    changed_at = models.DateTimeField()
    by = models.CharField(max_length=150)

    def __str__(self) -> str:
        return f"how {self.program} plans"
