"""Facts: what happened, on which day, and when it was recorded; withdrawn, never deleted."""

from __future__ import annotations

from django.db import models

from registry.models import Assembly, LoadBatch, Premises, Program, ServiceConnection
from scheduling.models.subjects import one_subject


class Fact(models.Model):
    """Something dated that happened to an assembly, a service or a premises; append-only."""

    program = models.ForeignKey(Program, on_delete=models.CASCADE, related_name="facts")
    assembly = models.ForeignKey(
        Assembly, null=True, blank=True, on_delete=models.CASCADE, related_name="facts"
    )
    connection = models.ForeignKey(
        ServiceConnection,
        null=True,
        blank=True,
        on_delete=models.CASCADE,
        related_name="facts",
        db_index=False,
    )
    premises = models.ForeignKey(
        Premises,
        null=True,
        blank=True,
        on_delete=models.CASCADE,
        related_name="facts",
        db_index=False,
    )
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
        constraints = [models.CheckConstraint(condition=one_subject(), name="fact_of_one_subject")]
        indexes = [
            models.Index(fields=("assembly", "on", "id"), name="fact_by_assembly"),
            models.Index(
                fields=("connection", "on", "id"),
                condition=models.Q(connection__isnull=False),
                name="fact_by_connection",
            ),
            models.Index(
                fields=("premises", "on", "id"),
                condition=models.Q(premises__isnull=False),
                name="fact_by_premises",
            ),
            models.Index(fields=("program", "recorded_at"), name="fact_by_recording"),
        ]

    def __str__(self) -> str:
        return f"{self.kind} on {self.on}"

    @property
    def its_assembly(self) -> Assembly:
        """The assembly it is about. Raises ValueError where it is about no assembly."""
        if self.assembly is None:
            raise ValueError(f"Fact {self.pk} is of no assembly.")
        return self.assembly

    @property
    def its_assembly_id(self) -> int:
        """The id of the assembly it is about. Raises ValueError where it is about none."""
        if self.assembly_id is None:
            raise ValueError(f"Fact {self.pk} is of no assembly.")
        return self.assembly_id
