"""Objections and appeals, and the clocks of letters that they and returned letters stop."""

from __future__ import annotations

from django.db import models
from django.db.models import Q

from notices.models.letters import Letter
from notices.models.returns import ReturnedLetter
from registry.models import Premises, Program
from scheduling.models import Fact


class Objection(models.Model):
    """Somebody objects to what is asked at a premises, or appeals; a named person decides."""

    program = models.ForeignKey(Program, on_delete=models.CASCADE, related_name="objections")
    premises = models.ForeignKey(Premises, on_delete=models.CASCADE, related_name="objections")
    letter = models.ForeignKey(
        Letter, null=True, blank=True, on_delete=models.SET_NULL, related_name="objections"
    )
    kind = models.CharField(max_length=20, help_text="objection or appeal")
    raised_on = models.DateField()
    raised_by = models.CharField(max_length=200, help_text="Who objects")
    words = models.TextField(max_length=2000)
    review_on = models.DateField(help_text="The day by which a person looks at it")
    taken_by = models.CharField(max_length=150)
    taken_at = models.DateTimeField()
    outcome = models.CharField(max_length=20, blank=True, default="")
    decided_on = models.DateField(null=True, blank=True)
    decided_by = models.CharField(max_length=150, blank=True, default="", help_text="By name")
    decided_at = models.DateTimeField(null=True, blank=True)
    decision = models.TextField(max_length=2000, blank=True, default="")

    class Meta:
        ordering = ("-raised_on", "-id")
        constraints = [
            models.UniqueConstraint(
                fields=("premises",),
                condition=Q(decided_at__isnull=True),
                name="one_open_objection",
            )
        ]

    def __str__(self) -> str:
        return f"{self.kind} of {self.raised_on}"


class ClockStop(models.Model):
    """Why the clock of letters of one subject stands: the fact that stopped it, and for what.

    The clock goes on when the last of its stops has ended.
    """

    program = models.ForeignKey(Program, on_delete=models.CASCADE, related_name="clock_stops")
    fact = models.OneToOneField(Fact, on_delete=models.CASCADE, related_name="clock_stop")
    returned = models.ForeignKey(
        ReturnedLetter, null=True, blank=True, on_delete=models.CASCADE, related_name="stops"
    )
    objection = models.ForeignKey(
        Objection, null=True, blank=True, on_delete=models.CASCADE, related_name="stops"
    )
    ended_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ("id",)
        constraints = [
            models.CheckConstraint(
                condition=Q(returned__isnull=False) ^ Q(objection__isnull=False),
                name="stopped_by_one_cause",
            )
        ]

    def __str__(self) -> str:
        return f"stopped by fact {self.fact_id}"
