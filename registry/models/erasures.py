"""That a person's data were erased, or a picture removed: what, when, by whom, why."""

from __future__ import annotations

from django.db import models

from registry.models.programs import Program


class Erasure(models.Model):
    """One person erased. It names rows by their numbers only, and is never changed."""

    program = models.ForeignKey(Program, on_delete=models.CASCADE, related_name="erasures")
    what = models.CharField(max_length=20, help_text="party, tester or user")
    subject_id = models.BigIntegerField()
    at = models.DateTimeField()
    by = models.CharField(max_length=150)
    reason = models.CharField(max_length=500)
    was_forced = models.BooleanField(default=False, help_text="Although something was open")
    open_matters = models.JSONField(default=list, help_text="What was open then, in words")
    tally = models.JSONField(default=dict, help_text="Rows by what they are")
    letters = models.JSONField(default=list, help_text="Rows whose bytes were taken away")
    entries = models.JSONField(default=list, help_text="Numbers in the ledger that lost their salt")

    class Meta:
        ordering = ("-at", "-id")
        indexes = [models.Index(fields=("program", "what", "subject_id"), name="erasure_of")]

    def __str__(self) -> str:
        return f"{self.what} {self.subject_id}"


class PictureRemoval(models.Model):
    """One picture or scan whose bytes were removed; their hash stays here and on its row."""

    program = models.ForeignKey(Program, on_delete=models.CASCADE, related_name="removals")
    what = models.CharField(max_length=20, help_text="A PictureKind of the domain")
    subject_id = models.BigIntegerField()
    sha256 = models.CharField(max_length=64, help_text="On record since it came")
    size = models.PositiveBigIntegerField(help_text="Bytes that were removed")
    was_whole = models.BooleanField(help_text="The bytes still had that hash when they went")
    at = models.DateTimeField()
    by = models.CharField(max_length=150)
    reason = models.CharField(max_length=500)

    class Meta:
        ordering = ("-at", "-id")
        constraints = [
            models.UniqueConstraint(fields=("what", "subject_id"), name="picture_removed_once")
        ]
        indexes = [models.Index(fields=("program", "-at", "-id"), name="picture_removed_by_day")]

    def __str__(self) -> str:
        return f"{self.what} {self.subject_id}"
