"""The calendar part that the e-mail of a letter carries, so that the visit lands in a calendar."""

from __future__ import annotations

from django.db import models

from notices.models.letters import Letter


class LetterInvitation(models.Model):
    """An RFC 5546 message of one letter: its method, and the calendar text as it is sent."""

    letter = models.OneToOneField(Letter, on_delete=models.CASCADE, related_name="invitation")
    method = models.CharField(max_length=10, help_text="REQUEST or CANCEL")
    text = models.TextField()

    def __str__(self) -> str:
        return f"{self.method} of {self.letter}"
