"""Contacts of a premises: who spoke with whom on which day, and what was promised."""

from __future__ import annotations

from django.db import models
from django.db.models import Q

from notices.models.deliveries import Delivery
from notices.models.letters import Letter
from registry.models import Assembly, Premises, Program


class Contact(models.Model):
    """One call, visit, talk or e-mail, with what was said; a promise names its day.

    Withdrawn when it was entered by mistake, never changed. `form_key` makes a form that is
    sent twice one contact.
    """

    program = models.ForeignKey(Program, on_delete=models.CASCADE, related_name="contacts_kept")
    premises = models.ForeignKey(Premises, on_delete=models.CASCADE, related_name="contacts")
    assembly = models.ForeignKey(
        Assembly,
        null=True,
        blank=True,
        on_delete=models.CASCADE,
        related_name="contacts",
        help_text="Where it is about one of several",
    )
    letter = models.ForeignKey(
        Letter, null=True, blank=True, on_delete=models.SET_NULL, related_name="contacts"
    )
    kind = models.CharField(max_length=20, help_text="A ContactKind of the domain")
    on = models.DateField()
    spoken_with = models.CharField(max_length=200, blank=True, default="")
    words = models.TextField(max_length=2000)
    promised_for = models.DateField(null=True, blank=True)
    taken_by = models.CharField(max_length=150)
    taken_at = models.DateTimeField()
    form_key = models.CharField(max_length=40)
    withdrawn_at = models.DateTimeField(null=True, blank=True)
    withdrawn_by = models.CharField(max_length=150, blank=True, default="")
    withdrawn_reason = models.CharField(max_length=500, blank=True, default="")

    class Meta:
        ordering = ("-on", "-id")
        constraints = [
            models.UniqueConstraint(fields=("program", "form_key"), name="contact_form_once")
        ]
        indexes = [
            models.Index(fields=("premises", "-on", "-id"), name="contact_by_premises"),
            models.Index(
                fields=("program", "promised_for"),
                condition=Q(promised_for__isnull=False, withdrawn_at__isnull=True),
                name="contact_promised",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.kind} on {self.on}"


class HandoverPhoto(models.Model):
    """A photo of a letter hung on a door or handed over, drawn anew; kept once per picture."""

    delivery = models.ForeignKey(Delivery, on_delete=models.CASCADE, related_name="photos")
    sent_sha256 = models.CharField(max_length=64, help_text="Of the bytes as they were sent")
    sha256 = models.CharField(max_length=64)
    content = models.BinaryField()
    width = models.PositiveIntegerField()
    height = models.PositiveIntegerField()
    taken_by = models.CharField(max_length=150)
    stored_at = models.DateTimeField()

    class Meta:
        ordering = ("id",)
        constraints = [
            models.UniqueConstraint(fields=("delivery", "sent_sha256"), name="handover_photo_once")
        ]

    def __str__(self) -> str:
        return f"photo of delivery {self.delivery_id}"
