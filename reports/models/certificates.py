"""A certificate: the paper on one counted field test, its bytes kept as they were made."""

from __future__ import annotations

from django.db import models

from registry.models import Program
from reports.models.fieldtests import FieldTest


class Certificate(models.Model):
    """Made once a test, language and record, never drawn again; its link is known by digest only.

    Where the record of a test changed, a new one may be made; the old one says so on its page.
    """

    program = models.ForeignKey(Program, on_delete=models.CASCADE, related_name="certificates")
    field_test = models.ForeignKey(
        FieldTest, on_delete=models.RESTRICT, related_name="certificates"
    )
    language = models.CharField(max_length=10, default="en")
    number = models.CharField(max_length=40)
    token_hash = models.CharField(max_length=64, help_text="SHA-256 of the token in its QR")
    core_sha256 = models.CharField(
        max_length=64, help_text="Of what it says of the test: a changed record shows"
    )
    on_paper = models.JSONField(default=dict, help_text="What its public page repeats of it")
    pdf = models.BinaryField()
    sha256 = models.CharField(max_length=64, help_text="Of the bytes kept")
    pages = models.PositiveSmallIntegerField()
    made_at = models.DateTimeField()
    made_by = models.CharField(max_length=150, blank=True, default="")

    class Meta:
        ordering = ("-made_at", "-id")
        constraints = [
            models.UniqueConstraint(
                fields=("field_test", "language", "core_sha256"), name="certificate_once"
            ),
            models.UniqueConstraint(fields=("token_hash",), name="certificate_by_link"),
        ]

    def __str__(self) -> str:
        return f"certificate {self.number}"
