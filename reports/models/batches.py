"""A file of reports taken back: why, by whom, and every report of it as it stood."""

from __future__ import annotations

from django.core.serializers.json import DjangoJSONEncoder
from django.db import models

from registry.models import LoadBatch


class TakenBackBatch(models.Model):
    """One file whose reports were taken back as a whole; it is taken back once."""

    batch = models.OneToOneField(LoadBatch, on_delete=models.CASCADE, related_name="taken_back")
    at = models.DateTimeField()
    by = models.CharField(max_length=150, blank=True, default="")
    reason = models.CharField(max_length=500)
    tally = models.JSONField(default=dict)

    class Meta:
        ordering = ("-at", "-id")
        verbose_name_plural = "taken back batches"

    def __str__(self) -> str:
        return f"{self.batch}, taken back"


class TakenBackReport(models.Model):
    """A report of such a file, kept whole: the fields of its row as they stood."""

    taken_back = models.ForeignKey(TakenBackBatch, on_delete=models.CASCADE, related_name="reports")
    serial = models.CharField(max_length=120, blank=True, default="")
    tested_on = models.DateField()
    row = models.JSONField(encoder=DjangoJSONEncoder)

    class Meta:
        ordering = ("id",)

    def __str__(self) -> str:
        return f"{self.serial} on {self.tested_on}, taken back"
