"""A letter to one recipient, its kept bytes, and the signature under an order."""

from __future__ import annotations

from django.conf import settings
from django.db import models

from notices.models.notices import Notice
from registry.models import Party, Program
from scheduling.models import DayRun


class Letter(models.Model):
    """The document to one recipient carrying notices: composed, released, left; kept as sent."""

    program = models.ForeignKey(Program, on_delete=models.CASCADE, related_name="letters")
    run = models.ForeignKey(
        DayRun, null=True, blank=True, on_delete=models.SET_NULL, related_name="letters"
    )
    number = models.CharField(max_length=40, help_text="The reference printed on it")
    kind = models.CharField(max_length=40, help_text="The rung's key")
    recipient = models.ForeignKey(
        Party, null=True, blank=True, on_delete=models.SET_NULL, related_name="letters"
    )
    recipient_key = models.CharField(max_length=80)
    address_lines = models.JSONField(default=list, help_text="As printed")
    language = models.CharField(max_length=10, default="en")
    content = models.JSONField(default=dict, help_text="LetterContent, without the secret link")
    composed_on = models.DateField()
    mailing_on = models.DateField()
    channel = models.CharField(max_length=30)
    also_by = models.JSONField(
        default=list, help_text="Channels the rulebook asks for besides; it has left by all"
    )
    needs_release = models.BooleanField(default=False)
    is_order = models.BooleanField(default=False)
    state = models.CharField(max_length=20, default="composed")
    flags = models.JSONField(default=list, help_text="What a person must look at before it goes")
    released_at = models.DateTimeField(null=True, blank=True)
    released_by = models.CharField(max_length=150, blank=True, default="")
    left_on = models.DateField(null=True, blank=True)
    left_at = models.DateTimeField(null=True, blank=True)
    left_how = models.CharField(max_length=120, blank=True, default="")
    tracking = models.CharField(max_length=60, blank=True, default="")
    ended_on = models.DateField(null=True, blank=True)
    ended_reason = models.CharField(max_length=500, blank=True, default="")
    token_hash = models.CharField(max_length=64, unique=True)
    short_code = models.CharField(max_length=20)
    mailing_zip = models.CharField(max_length=20, blank=True, default="")
    code_tries = models.PositiveSmallIntegerField(default=0)
    code_locked_until = models.DateTimeField(null=True, blank=True)
    predecessor = models.ForeignKey(
        "self", null=True, blank=True, on_delete=models.SET_NULL, related_name="successors"
    )
    created_at = models.DateTimeField()

    class Meta:
        ordering = ("-composed_on", "-id")
        constraints = [
            models.UniqueConstraint(fields=("program", "number"), name="letter_number_once"),
            models.UniqueConstraint(fields=("short_code",), name="short_code_once"),
        ]
        indexes = [
            models.Index(fields=("program", "state", "composed_on"), name="letter_by_state"),
            models.Index(fields=("program", "kind", "composed_on"), name="letter_by_kind"),
        ]

    def __str__(self) -> str:
        return f"{self.number}, {self.kind}"


class LetterNotice(models.Model):
    """Which notices a letter carries; one live letter per notice and recipient."""

    letter = models.ForeignKey(Letter, on_delete=models.CASCADE, related_name="carried")
    notice = models.ForeignKey(Notice, on_delete=models.CASCADE, related_name="carried")
    recipient_key = models.CharField(max_length=80)
    is_live = models.BooleanField(default=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=("notice", "recipient_key"),
                condition=models.Q(is_live=True),
                name="one_live_letter",
            )
        ]

    def __str__(self) -> str:
        return f"{self.letter_id} carries {self.notice_id}"


class LetterFile(models.Model):
    """The bytes of a letter as sent, with their digest; never made again from newer data."""

    letter = models.OneToOneField(
        Letter, primary_key=True, on_delete=models.CASCADE, related_name="file"
    )
    pdf = models.BinaryField()
    sha256 = models.CharField(max_length=64)
    pages = models.PositiveSmallIntegerField()
    stored_at = models.DateTimeField()

    def __str__(self) -> str:
        return f"file of {self.letter_id}"


class OrderSignature(models.Model):
    """Who signed an order, and the evidence as it stood before their eyes."""

    letter = models.OneToOneField(
        Letter, primary_key=True, on_delete=models.CASCADE, related_name="signature"
    )
    user = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT)
    name = models.CharField(max_length=150)
    role = models.CharField(max_length=40)
    at = models.DateTimeField()
    evidence = models.JSONField(default=dict)
    evidence_sha256 = models.CharField(max_length=64)

    def __str__(self) -> str:
        return f"{self.letter_id} signed by {self.name}"
