"""What was changed, by whom and why; what a load set aside; what a person must answer."""

from __future__ import annotations

from django.db import models

from registry.models.assemblies import Assembly
from registry.models.firms import Firm
from registry.models.premises import Premises
from registry.models.programs import Program


class LoadBatch(models.Model):
    """One file brought in: its name, digest, tally, and by whom."""

    program = models.ForeignKey(Program, on_delete=models.CASCADE, related_name="batches")
    what = models.CharField(max_length=40, help_text="registry, testers, tests")
    file_name = models.CharField(max_length=300, blank=True, default="")
    file_sha256 = models.CharField(max_length=64, blank=True, default="")
    as_of = models.DateField()
    at = models.DateTimeField()
    by = models.CharField(max_length=150, blank=True, default="")
    tally = models.JSONField(default=dict)
    headers = models.JSONField(default=list)
    columns = models.JSONField(default=dict)

    class Meta:
        ordering = ("-at", "-id")

    def __str__(self) -> str:
        return f"{self.what} {self.file_name} of {self.as_of}"


class SetAsideRow(models.Model):
    """A row that could not land, kept whole with its faults."""

    batch = models.ForeignKey(LoadBatch, on_delete=models.CASCADE, related_name="set_aside")
    row = models.PositiveIntegerField()
    cells = models.JSONField(default=list)
    faults = models.JSONField(default=list)

    class Meta:
        ordering = ("batch", "row")

    def __str__(self) -> str:
        return f"row {self.row} of {self.batch}"


class SavedHeader(models.Model):
    """A program's own reading of a column header; it overrides the trade's synonyms."""

    program = models.ForeignKey(Program, on_delete=models.CASCADE, related_name="saved_headers")
    what = models.CharField(max_length=40, default="registry")
    header = models.CharField(max_length=200, help_text="Normalised header")
    field = models.CharField(max_length=60, blank=True, default="", help_text="Blank: left out")

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=("program", "what", "header"), name="saved_header_once")
        ]

    def __str__(self) -> str:
        return f"{self.header} → {self.field or 'left out'}"


class Change(models.Model):
    """One change row: who, when, what, before, after, reason."""

    program = models.ForeignKey(
        Program, null=True, blank=True, on_delete=models.CASCADE, related_name="changes"
    )
    firm = models.ForeignKey(
        Firm, null=True, blank=True, on_delete=models.CASCADE, related_name="changes"
    )
    at = models.DateTimeField()
    by = models.CharField(max_length=150)
    what = models.CharField(max_length=60, help_text="Model name, lower case")
    subject_id = models.BigIntegerField(null=True, blank=True)
    label = models.CharField(max_length=300, blank=True, default="")
    before = models.JSONField(default=dict)
    after = models.JSONField(default=dict)
    reason = models.CharField(max_length=500, blank=True, default="")
    batch = models.ForeignKey(
        LoadBatch, null=True, blank=True, on_delete=models.SET_NULL, related_name="changes"
    )

    class Meta:
        ordering = ("-at", "-id")
        indexes = [
            models.Index(fields=("what", "subject_id"), name="change_by_subject"),
            models.Index(fields=("program", "at"), name="change_by_moment"),
        ]

    def __str__(self) -> str:
        return f"{self.what} {self.label}"


class Question(models.Model):
    """Something that waits for a person; asked once per key, settled with an answer."""

    program = models.ForeignKey(Program, on_delete=models.CASCADE, related_name="questions")
    key = models.CharField(max_length=200)
    kind = models.CharField(max_length=60)
    assembly = models.ForeignKey(
        Assembly, null=True, blank=True, on_delete=models.CASCADE, related_name="questions"
    )
    premises = models.ForeignKey(
        Premises, null=True, blank=True, on_delete=models.CASCADE, related_name="questions"
    )
    text = models.CharField(max_length=500)
    detail = models.JSONField(default=dict)
    raised_on = models.DateField()
    settled_at = models.DateTimeField(null=True, blank=True)
    settled_by = models.CharField(max_length=150, blank=True, default="")
    answer = models.CharField(max_length=500, blank=True, default="")

    class Meta:
        ordering = ("raised_on", "id")
        constraints = [models.UniqueConstraint(fields=("program", "key"), name="question_once")]

    def __str__(self) -> str:
        return self.text
