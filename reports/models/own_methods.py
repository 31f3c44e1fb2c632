"""A program's own acceptance limits: a copy of a method with what is otherwise here."""

from __future__ import annotations

from django.db import models

from registry.models import Program


class OwnMethod(models.Model):
    """Acceptance limits that a program wrote for itself; once a test rests on them they stay."""

    program = models.ForeignKey(Program, on_delete=models.CASCADE, related_name="own_methods")
    name = models.CharField(max_length=40)
    copied_from = models.CharField(max_length=40)
    text = models.TextField(help_text="TOML, as the methods that ship")
    sha256 = models.CharField(max_length=64)
    made_at = models.DateTimeField()
    by = models.CharField(max_length=150, blank=True, default="")

    class Meta:
        ordering = ("name",)
        constraints = [models.UniqueConstraint(fields=("program", "name"), name="own_method_once")]

    def __str__(self) -> str:
        return f"{self.name}, own limits of {self.program}"
