"""The standing board: a program's counts, kept beside what they count."""

from __future__ import annotations

from django.db import models

from registry.models import Program


class StandingBoard(models.Model):
    """Counts of one program as they stand on `on`; a recount every day proves or mends them."""

    program = models.OneToOneField(
        Program, primary_key=True, on_delete=models.CASCADE, related_name="board"
    )
    on = models.DateField()
    counts = models.JSONField(default=dict, help_text='"standing|type|hazard|service": assemblies')
    spans = models.JSONField(
        default=dict, help_text="due within 30, 60, 90 days; passed in the calendar year"
    )
    months = models.JSONField(
        default=dict, help_text='"2026-05|how": tests that fell due in the month'
    )
    changed_at = models.DateTimeField()
    recounted_on = models.DateField(null=True, blank=True)
    mends = models.PositiveIntegerField(default=0, help_text="Recounts that found another figure")

    def __str__(self) -> str:
        return f"board of {self.program_id} on {self.on}"
