"""Letters that came back: how, when, and what became of it."""

from __future__ import annotations

from django.db import models
from django.db.models import Q

from notices.models.deliveries import Delivery
from notices.models.letters import Letter
from registry.models import Program


class ReturnedLetter(models.Model):
    """One delivery of a letter that came back, once; settled by an address, a means or a person.

    `second` is the delivery made in its place. `notices_left` keeps, by the notice's id, the day
    each had left before the letter counted as not given.
    """

    program = models.ForeignKey(Program, on_delete=models.CASCADE, related_name="returned_letters")
    letter = models.ForeignKey(Letter, on_delete=models.CASCADE, related_name="returns")
    delivery = models.ForeignKey(
        Delivery, null=True, blank=True, on_delete=models.CASCADE, related_name="returns"
    )
    how = models.CharField(max_length=20, help_text="undeliverable, refused or unclaimed")
    came_back_on = models.DateField()
    entered_at = models.DateTimeField()
    entered_by = models.CharField(max_length=150)
    words = models.CharField(max_length=500, blank=True, default="")
    second = models.ForeignKey(
        Delivery, null=True, blank=True, on_delete=models.SET_NULL, related_name="second_for"
    )
    citation = models.CharField(
        max_length=500, blank=True, default="", help_text="Of the second means, where one is given"
    )
    notices_left = models.JSONField(default=dict)
    settled_how = models.CharField(max_length=20, blank=True, default="")
    settled_on = models.DateField(null=True, blank=True)
    settled_at = models.DateTimeField(null=True, blank=True)
    settled_by = models.CharField(max_length=150, blank=True, default="")
    settled_words = models.CharField(max_length=500, blank=True, default="")

    class Meta:
        ordering = ("-entered_at", "-id")
        constraints = [
            models.UniqueConstraint(fields=("delivery",), name="delivery_came_back_once"),
            models.UniqueConstraint(
                fields=("letter",),
                condition=Q(delivery__isnull=True),
                name="letter_came_back_once",
            ),
        ]
        indexes = [
            models.Index(
                fields=("program", "how"),
                condition=Q(settled_at__isnull=True),
                name="returned_unsettled",
            )
        ]

    def __str__(self) -> str:
        return f"{self.letter_id} came back {self.how}"
