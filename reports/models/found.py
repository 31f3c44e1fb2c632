"""What a report found in the field and the registry does not hold: it waits for a person."""

from __future__ import annotations

from django.db import models

from registry.models import Assembly, Program
from reports.models.fieldtests import FieldTest


class FoundAssembly(models.Model):
    """An assembly that a report names and nobody knows, until a person says what it is."""

    program = models.ForeignKey(Program, on_delete=models.CASCADE, related_name="found_assemblies")
    field_test = models.OneToOneField(
        FieldTest, on_delete=models.CASCADE, related_name="found_assembly"
    )
    stated = models.JSONField(default=dict, help_text="What the report says of it")
    raised_on = models.DateField()
    settled_at = models.DateTimeField(null=True, blank=True)
    settled_by = models.CharField(max_length=150, blank=True, default="")
    settled_how = models.CharField(
        max_length=20, blank=True, default="", help_text="new, replacement, misread or refused"
    )
    assembly = models.ForeignKey(
        Assembly, null=True, blank=True, on_delete=models.SET_NULL, related_name="found_in_field"
    )
    reason = models.CharField(max_length=500, blank=True, default="")

    class Meta:
        ordering = ("raised_on", "id")
        verbose_name_plural = "found assemblies"
        indexes = [
            models.Index(
                fields=("program", "raised_on"),
                condition=models.Q(settled_at__isnull=True),
                name="found_waiting",
            )
        ]

    def __str__(self) -> str:
        return f"{self.field_test.serial}, found in the field"
