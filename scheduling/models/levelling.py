"""A decision to spread a year's work: which targets it set, and what they were before."""

from __future__ import annotations

from django.db import models

from registry.models import Program
from scheduling.models.obligations import Obligation


class LevelDecision(models.Model):
    """One levelling that was applied, by whom; undone as a whole, once."""

    program = models.ForeignKey(Program, on_delete=models.CASCADE, related_name="level_decisions")
    from_on = models.DateField()
    to_on = models.DateField()
    capacity = models.PositiveIntegerField()
    per = models.CharField(max_length=10, help_text="week or month")
    made_at = models.DateTimeField()
    made_by = models.CharField(max_length=150)
    figures = models.JSONField(default=dict, help_text="What the proposal came to, in figures")
    undone_at = models.DateTimeField(null=True, blank=True)
    undone_by = models.CharField(max_length=150, blank=True, default="")

    class Meta:
        ordering = ("-made_at", "-id")

    def __str__(self) -> str:
        return f"levelled {self.from_on} to {self.to_on}, {self.capacity} a {self.per}"


class LevelRow(models.Model):
    """One target that a decision set, and the one that stood before it."""

    decision = models.ForeignKey(LevelDecision, on_delete=models.CASCADE, related_name="rows")
    obligation = models.ForeignKey(Obligation, on_delete=models.CASCADE, related_name="levellings")
    before_on = models.DateField(null=True, blank=True)
    after_on = models.DateField(null=True, blank=True)

    class Meta:
        ordering = ("id",)
        constraints = [
            models.UniqueConstraint(
                fields=("decision", "obligation"), name="levelled_once_per_decision"
            )
        ]

    def __str__(self) -> str:
        return f"{self.obligation_id}: {self.before_on} → {self.after_on}"
