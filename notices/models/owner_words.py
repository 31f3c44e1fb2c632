"""What the recipient of a letter said on the owner's page: words for a person, nothing more."""

from __future__ import annotations

from django.db import models

from notices.models.letters import Letter
from registry.models import Program, Question


class OwnerWords(models.Model):
    """One message from the owner's page; it asks a question on Today and changes nothing."""

    program = models.ForeignKey(Program, on_delete=models.CASCADE, related_name="owner_words")
    letter = models.ForeignKey(Letter, on_delete=models.CASCADE, related_name="owner_words")
    kind = models.CharField(max_length=20, help_text="An OwnerSays of the domain")
    words = models.TextField(max_length=1000, blank=True, default="")
    reach = models.CharField(max_length=200, blank=True, default="")
    language = models.CharField(max_length=10, default="en")
    said_on = models.DateField()
    said_at = models.DateTimeField()
    form_key = models.CharField(max_length=40)
    question = models.ForeignKey(
        Question, null=True, blank=True, on_delete=models.SET_NULL, related_name="owner_words"
    )

    class Meta:
        ordering = ("-said_at", "-id")
        constraints = [
            models.UniqueConstraint(fields=("letter", "form_key"), name="owner_form_once")
        ]

    def __str__(self) -> str:
        return f"{self.kind} about {self.letter_id}"
