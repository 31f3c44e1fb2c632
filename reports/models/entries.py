"""What was handed in on a form: kept as it came, with its photos and every other version of it."""

from __future__ import annotations

from django.conf import settings
from django.db import models

from registry.models import Assembly, Program
from reports.models.fieldtests import FieldTest


class FieldEntry(models.Model):
    """One form handed in; its id was made when the form opened, so it lands once."""

    program = models.ForeignKey(Program, on_delete=models.CASCADE, related_name="field_entries")
    client_id = models.UUIDField(help_text="Made where the form was opened")
    body = models.JSONField(help_text="The record as it came")
    body_sha256 = models.CharField(max_length=64)
    form_version = models.CharField(max_length=20, blank=True, default="")
    channel = models.CharField(max_length=20, help_text="page, device or file")
    person = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        null=True,
        blank=True,
        on_delete=models.SET_NULL,
        related_name="field_entries",
    )
    by = models.CharField(max_length=150, blank=True, default="")
    assembly = models.ForeignKey(
        Assembly, null=True, blank=True, on_delete=models.SET_NULL, related_name="field_entries"
    )
    field_test = models.ForeignKey(
        FieldTest, null=True, blank=True, on_delete=models.SET_NULL, related_name="entries"
    )
    receipt = models.CharField(max_length=40)
    faults = models.JSONField(default=list, help_text="Why it could not be read as a report")
    attestation = models.TextField(blank=True, default="", help_text="Word for word")
    signed_how = models.CharField(max_length=20, blank=True, default="")
    signed_name = models.CharField(max_length=200, blank=True, default="")
    signature = models.BinaryField(null=True, blank=True, help_text="PNG, where it was drawn")
    signature_sha256 = models.CharField(
        max_length=64, blank=True, default="", help_text="Of the PNG kept; stays when it goes"
    )
    handed_in_at = models.DateTimeField(null=True, blank=True)
    received_at = models.DateTimeField()

    class Meta:
        ordering = ("-received_at", "-id")
        verbose_name_plural = "field entries"
        constraints = [models.UniqueConstraint(fields=("program", "client_id"), name="entry_once")]

    def __str__(self) -> str:
        return f"entry {self.receipt}"


class EntryVersion(models.Model):
    """Another body that came under the id of an entry: both are kept, a person looks."""

    entry = models.ForeignKey(FieldEntry, on_delete=models.CASCADE, related_name="versions")
    body = models.JSONField()
    body_sha256 = models.CharField(max_length=64)
    by = models.CharField(max_length=150, blank=True, default="")
    received_at = models.DateTimeField()

    class Meta:
        ordering = ("received_at", "id")
        constraints = [
            models.UniqueConstraint(fields=("entry", "body_sha256"), name="entry_version_once")
        ]

    def __str__(self) -> str:
        return f"another version of {self.entry}"


class EntryPhoto(models.Model):
    """A photo of an entry, drawn anew by us: without place, maker or anything but the picture."""

    entry = models.ForeignKey(FieldEntry, on_delete=models.CASCADE, related_name="photos")
    sent_sha256 = models.CharField(max_length=64, help_text="Of the bytes as they were sent")
    sha256 = models.CharField(max_length=64, help_text="Of the bytes kept")
    content = models.BinaryField(help_text="JPEG")
    width = models.PositiveIntegerField()
    height = models.PositiveIntegerField()
    received_at = models.DateTimeField()

    class Meta:
        ordering = ("id",)
        constraints = [
            models.UniqueConstraint(fields=("entry", "sent_sha256"), name="entry_photo_once")
        ]

    def __str__(self) -> str:
        return f"photo of {self.entry}"
