"""Facts: what happened, on which day, and when it was recorded; withdrawn, never deleted."""

from __future__ import annotations

from django.db import models

from registry.models import Assembly, LoadBatch, Program


class Fact(models.Model):
    """Something dated that happened to an assembly; append-only."""

    program = models.ForeignKey(Program, on_delete=models.CASCADE, related_name="facts")
    assembly = models.ForeignKey(Assembly, on_delete=models.CASCADE, related_name="facts")
    kind = models.CharField(max_length=20, help_text="A FactKind of the domain")
    on = models.DateField()
    at = models.TimeField(null=True, blank=True, help_text="Time of day, where it is known")
    detail = models.JSONField(default=dict, blank=True)
    source = models.CharField(
        max_length=20, help_text="stated, load, field test, person: where it comes from"
    )
    source_ref = models.CharField(max_length=120, blank=True, default="")
    recorded_at = models.DateTimeField()
    by = models.CharField(max_length=150, blank=True, default="")
    reason = models.CharField(max_length=500, blank=True, default="")
    batch = models.ForeignKey(
        LoadBatch, null=True, blank=True, on_delete=models.SET_NULL, related_name="facts"
    )
    withdrawn_at = models.DateTimeField(null=True, blank=True)
    withdrawn_by = models.CharField(max_length=150, blank=True, default="")
    withdrawn_reason = models.CharField(max_length=500, blank=True, default="")

    class Meta:
        ordering = ("on", "id")
        indexes = [
            models.Index(fields=("assembly", "on", "id"), name="fact_by_assembly"),
            models.Index(fields=("program", "recorded_at"), name="fact_by_recording"),
        ]

    def __str__(self) -> str:
        return f"{self.kind} on {self.on}"
