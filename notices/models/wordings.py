"""The sentences an office writes itself for a kind of letter, version by version, and its logo."""

from __future__ import annotations

from django.db import models

from registry.models import Program


class Wording(models.Model):
    """One version of an office's own sentences for a kind of letter in one language.

    A draft may be changed; once in force it is kept as it is, and the next one gets a new number.
    """

    program = models.ForeignKey(Program, on_delete=models.CASCADE, related_name="wordings")
    work = models.CharField(max_length=20, help_text="What the letter asks for")
    kind = models.CharField(max_length=40, help_text="The letter's kind")
    language = models.CharField(max_length=10)
    number = models.PositiveIntegerField(help_text="Within work, kind and language")
    texts = models.JSONField(default=dict, help_text="Part of the letter to its text")
    state = models.CharField(max_length=20, default="draft")
    made_at = models.DateTimeField()
    made_by = models.CharField(max_length=150)
    in_force_at = models.DateTimeField(null=True, blank=True)
    in_force_by = models.CharField(max_length=150, blank=True, default="")
    ended_at = models.DateTimeField(null=True, blank=True)
    ended_by = models.CharField(max_length=150, blank=True, default="")
    taken_from = models.PositiveIntegerField(
        null=True, blank=True, help_text="The version it was restored from"
    )

    class Meta:
        ordering = ("-number",)
        constraints = [
            models.UniqueConstraint(
                fields=("program", "work", "kind", "language", "number"), name="wording_once"
            ),
            models.UniqueConstraint(
                fields=("program", "work", "kind", "language"),
                condition=models.Q(state="in force"),
                name="one_wording_in_force",
            ),
            models.UniqueConstraint(
                fields=("program", "work", "kind", "language"),
                condition=models.Q(state="draft"),
                name="one_wording_draft",
            ),
        ]

    def __str__(self) -> str:
        return f"wording {self.number} of {self.kind}, {self.language}, {self.state}"


class LetterLogo(models.Model):
    """A logo as it is drawn in letters: checked, made small, and kept under its digest."""

    program = models.ForeignKey(Program, on_delete=models.CASCADE, related_name="logos")
    sha256 = models.CharField(max_length=64)
    png = models.BinaryField()
    width = models.PositiveIntegerField(help_text="Pixels")
    height = models.PositiveIntegerField(help_text="Pixels")
    added_at = models.DateTimeField()
    added_by = models.CharField(max_length=150)

    class Meta:
        ordering = ("-added_at", "-id")
        constraints = [
            models.UniqueConstraint(fields=("program", "sha256"), name="letter_logo_once")
        ]

    def __str__(self) -> str:
        return f"logo of {self.program_id}, {self.width} × {self.height}"
