"""What became of visits on their day: kept as it was, wherever the visit is planned next."""

from __future__ import annotations

from django.db import models

from registry.models import Premises, Program, Tester
from reports.models.rounds import Stop


class VisitTold(models.Model):
    """One word about one planned visit; a later word about the same visit and time replaces it."""

    program = models.ForeignKey(Program, on_delete=models.CASCADE, related_name="visits_told")
    premises = models.ForeignKey(Premises, on_delete=models.CASCADE, related_name="visits_told")
    stop = models.ForeignKey(Stop, on_delete=models.CASCADE, related_name="outcomes")
    tester = models.ForeignKey(
        Tester, null=True, blank=True, on_delete=models.SET_NULL, related_name="visits_told"
    )
    on = models.DateField(help_text="The day it was planned for")
    arrives_at = models.DateTimeField(help_text="As it was planned")
    outcome = models.CharField(max_length=20)
    words = models.CharField(max_length=300, blank=True, default="")
    at = models.DateTimeField()
    by = models.CharField(max_length=150)

    class Meta:
        ordering = ("-at", "-pk")
        constraints = [
            models.UniqueConstraint(fields=("stop", "on"), name="one_outcome_a_visit_and_day")
        ]
        indexes = [models.Index(fields=("program", "on"), name="outcomes_by_day")]

    def __str__(self) -> str:
        return f"{self.premises}, {self.on}: {self.outcome}"
