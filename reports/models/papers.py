"""A report on paper: kept as it came with its hash, its pages as pictures, and who keyed what."""

from __future__ import annotations

from django.conf import settings
from django.db import models

from registry.models import Assembly, Program
from reports.models.entries import FieldEntry


class Paper(models.Model):
    """One scanned report. `client_id` is the id of the record that it becomes, so it lands once."""

    program = models.ForeignKey(Program, on_delete=models.CASCADE, related_name="papers")
    client_id = models.UUIDField()
    sha256 = models.CharField(max_length=64, help_text="Of the bytes as they came")
    file_name = models.CharField(max_length=200, blank=True, default="")
    kind = models.CharField(max_length=10, help_text="pdf, jpeg or png, by content")
    content = models.BinaryField(help_text="As it came")
    page_count = models.PositiveIntegerField(default=1)
    layout = models.CharField(
        max_length=60, blank=True, default="", help_text="Which printed form it is on"
    )
    received_at = models.DateTimeField()
    by = models.CharField(max_length=150, blank=True, default="")
    entry = models.ForeignKey(
        FieldEntry, null=True, blank=True, on_delete=models.SET_NULL, related_name="papers"
    )
    put_aside = models.CharField(max_length=300, blank=True, default="", help_text="Why")
    put_aside_at = models.DateTimeField(null=True, blank=True)
    put_aside_by = models.CharField(max_length=150, blank=True, default="")

    class Meta:
        ordering = ("received_at", "id")
        constraints = [models.UniqueConstraint(fields=("program", "sha256"), name="paper_once")]
        indexes = [
            models.Index(
                fields=("program", "received_at"),
                condition=models.Q(entry__isnull=True, put_aside=""),
                name="paper_waiting",
            )
        ]

    def __str__(self) -> str:
        return self.file_name or f"paper {self.pk}"


class PaperPage(models.Model):
    """A page of a paper as a picture to look at; none where a PDF is drawn and not scanned."""

    paper = models.ForeignKey(Paper, on_delete=models.CASCADE, related_name="pages")
    number = models.PositiveIntegerField()
    content = models.BinaryField(help_text="JPEG")
    width = models.PositiveIntegerField()
    height = models.PositiveIntegerField()

    class Meta:
        ordering = ("paper", "number")
        constraints = [models.UniqueConstraint(fields=("paper", "number"), name="paper_page_once")]

    def __str__(self) -> str:
        return f"page {self.number} of {self.paper}"


class PaperKeying(models.Model):
    """What one person read from a paper; where two are asked for, each has one."""

    paper = models.ForeignKey(Paper, on_delete=models.CASCADE, related_name="keyings")
    person = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="paper_keyings"
    )
    by = models.CharField(max_length=150, blank=True, default="")
    type = models.CharField(max_length=20)
    assembly = models.ForeignKey(
        Assembly, null=True, blank=True, on_delete=models.SET_NULL, related_name="paper_keyings"
    )
    fields = models.JSONField(default=dict)
    at = models.DateTimeField()

    class Meta:
        ordering = ("at", "id")
        constraints = [models.UniqueConstraint(fields=("paper", "person"), name="paper_keyed_once")]

    def __str__(self) -> str:
        return f"{self.paper} as {self.by} read it"


class PaperSpot(models.Model):
    """Where a field stands on a printed form, as somebody showed it: parts of width and height."""

    program = models.ForeignKey(Program, on_delete=models.CASCADE, related_name="paper_spots")
    layout = models.CharField(max_length=60, blank=True, default="")
    field = models.CharField(max_length=80)
    page = models.PositiveIntegerField(default=1)
    across = models.FloatField(help_text="0 at the left edge, 1 at the right")
    down = models.FloatField(help_text="0 at the top, 1 at the foot")

    class Meta:
        ordering = ("layout", "field")
        constraints = [
            models.UniqueConstraint(fields=("program", "layout", "field"), name="paper_spot_once")
        ]

    def __str__(self) -> str:
        return f"{self.field} on {self.layout or 'the usual form'}"
