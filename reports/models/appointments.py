"""What customers were told about visits: each word once, by letter or telephone, kept as it was."""

from __future__ import annotations

from django.db import models

from notices.models import Letter
from registry.models import Premises, Program
from reports.models.rounds import Stop


class AppointmentTold(models.Model):
    """One word about one visit; `sequence` counts the words about it from 0.

    A word by letter has its `letter`. Where somebody must call, `call_due` stays until a person
    says that they reached somebody.
    """

    program = models.ForeignKey(Program, on_delete=models.CASCADE, related_name="appointments")
    premises = models.ForeignKey(Premises, on_delete=models.CASCADE, related_name="appointments")
    stop = models.ForeignKey(
        Stop, null=True, blank=True, on_delete=models.SET_NULL, related_name="told"
    )
    uid = models.CharField(max_length=255, help_text="Of the visit in the customer's calendar")
    sequence = models.PositiveIntegerField()
    kind = models.CharField(max_length=30)
    starts_at = models.DateTimeField()
    ends_at = models.DateTimeField()
    tester = models.CharField(max_length=200, blank=True, default="")
    by_way = models.CharField(max_length=30)
    letter = models.ForeignKey(
        Letter, null=True, blank=True, on_delete=models.SET_NULL, related_name="appointments"
    )
    at = models.DateTimeField()
    by = models.CharField(max_length=150)
    call_due = models.BooleanField(default=False)
    called_at = models.DateTimeField(null=True, blank=True)
    called_by = models.CharField(max_length=150, blank=True, default="")
    call_words = models.CharField(max_length=300, blank=True, default="")

    class Meta:
        ordering = ("-at", "-pk")
        constraints = [
            models.UniqueConstraint(fields=("uid", "sequence"), name="told_once_by_sequence")
        ]
        indexes = [
            models.Index(
                fields=("program",), condition=models.Q(call_due=True), name="calls_to_make"
            ),
            models.Index(fields=("program", "starts_at"), name="told_by_visit"),
        ]

    def __str__(self) -> str:
        return f"{self.kind}, {self.premises}"
