"""Letters that answer something, each once to each recipient; and what owners say on their page."""

from __future__ import annotations

from django.db import models

from notices.models.letters import Letter
from registry.models import Program


class LetterAbout(models.Model):
    """What a letter outside the ladders is about; one such letter per matter and recipient."""

    program = models.ForeignKey(Program, on_delete=models.CASCADE, related_name="letters_about")
    letter = models.ForeignKey(Letter, on_delete=models.CASCADE, related_name="about")
    key = models.CharField(max_length=80, help_text="error:12, objection:5, report:77")
    recipient_key = models.CharField(max_length=80)

    class Meta:
        ordering = ("id",)
        constraints = [
            models.UniqueConstraint(
                fields=("program", "key", "recipient_key"), name="letter_about_once"
            )
        ]

    def __str__(self) -> str:
        return f"{self.letter_id} about {self.key}"
