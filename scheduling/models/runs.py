"""The office's clock: when each program's day was last run, and a row for every run."""

from __future__ import annotations

from django.db import models

from registry.models import Program


class ProgramClock(models.Model):
    """The row that writers of one program's day lock, so that two runs take turns."""

    program = models.OneToOneField(
        Program, primary_key=True, on_delete=models.CASCADE, related_name="clock"
    )
    last_run_on = models.DateField(null=True, blank=True)
    last_letter_no = models.PositiveIntegerField(default=0)

    def __str__(self) -> str:
        return f"clock of {self.program_id}"


class DayRun(models.Model):
    """One run of one program's day with its tally; it decides nothing, it only tells."""

    program = models.ForeignKey(Program, on_delete=models.CASCADE, related_name="runs")
    as_of = models.DateField()
    started_at = models.DateTimeField()
    finished_at = models.DateTimeField(null=True, blank=True)
    tally = models.JSONField(default=dict)
    problem = models.CharField(max_length=500, blank=True, default="")

    class Meta:
        ordering = ("-started_at", "-id")
        indexes = [models.Index(fields=("program", "-started_at", "-id"), name="run_by_start")]

    def __str__(self) -> str:
        return f"run of {self.as_of}"
