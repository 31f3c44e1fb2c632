"""When a program writes to testing companies about what lapses."""

from __future__ import annotations

from django.db import models

from registry.models import Program


class LapseLetters(models.Model):
    """How many days before a last day a letter goes, and whether one goes after it.

    Without a row, or with no days, none goes.
    """

    program = models.OneToOneField(
        Program, primary_key=True, on_delete=models.CASCADE, related_name="lapse_letters"
    )
    days_before = models.JSONField(default=list, help_text="e.g. [60, 30]")
    is_told_after = models.BooleanField(default=False, help_text="Once, after the last day")

    class Meta:
        verbose_name_plural = "lapse letters"

    def __str__(self) -> str:
        return f"{self.days_before} before"
