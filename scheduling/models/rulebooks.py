"""Rulebooks as versioned rows, and which one a program put in force from which day."""

from __future__ import annotations

from django.db import models

from registry.models import Program


class Rulebook(models.Model):
    """One edition of a rulebook: its text is TOML, edited while a draft and never after."""

    name = models.SlugField(max_length=80)
    edition = models.PositiveIntegerField(default=1)
    program = models.ForeignKey(
        Program,
        null=True,
        blank=True,
        on_delete=models.CASCADE,
        related_name="rulebooks",
        help_text="Empty for the rulebooks that ship with the program",
    )
    title = models.CharField(max_length=200)
    text = models.TextField(help_text="TOML")
    sha256 = models.CharField(max_length=64)
    gaps = models.JSONField(default=list, help_text="What is not transcribed")
    loaded_at = models.DateTimeField()
    is_draft = models.BooleanField(default=False, help_text="May be edited, binds nobody")

    class Meta:
        ordering = ("name", "edition")
        constraints = [
            models.UniqueConstraint(
                fields=("name", "edition"),
                condition=models.Q(program__isnull=True),
                name="shipped_edition_once",
            ),
            models.UniqueConstraint(
                fields=("name", "edition", "program"),
                condition=models.Q(program__isnull=False),
                name="own_edition_once",
            ),
            models.UniqueConstraint(
                fields=("program", "name"),
                condition=models.Q(is_draft=True),
                name="one_draft_of_a_name",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.name}, edition {self.edition}"


class Adoption(models.Model):
    """A rulebook in force for a program from a day on, by whose decision."""

    program = models.ForeignKey(Program, on_delete=models.CASCADE, related_name="adoptions")
    rulebook = models.ForeignKey(Rulebook, on_delete=models.PROTECT, related_name="adoptions")
    effective_on = models.DateField()
    recorded_at = models.DateTimeField()
    by = models.CharField(max_length=150, blank=True, default="")
    reason = models.CharField(max_length=500, blank=True, default="")
    awaits_replay = models.BooleanField(
        default=False, help_text="Its day's run replays the program once it has come"
    )

    class Meta:
        ordering = ("effective_on", "id")
        constraints = [
            models.UniqueConstraint(
                fields=("program", "effective_on"), name="one_rulebook_from_a_day"
            )
        ]

    def __str__(self) -> str:
        return f"{self.rulebook} for {self.program} from {self.effective_on}"
