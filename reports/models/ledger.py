"""The ledger: what was recorded, hashed entry by entry, and the seals over all of it."""

from __future__ import annotations

from django.db import models

from registry.models import Program


class LedgerEntry(models.Model):
    """One thing recorded, once: its plain values, and a digest in place of personal ones.

    Erasing a person's data takes the salt with it; the digest then says nothing, and the
    entry, its leaf and every seal stay as they were.
    """

    program = models.ForeignKey(Program, on_delete=models.CASCADE, related_name="ledger")
    number = models.PositiveBigIntegerField(help_text="From 1, without a gap")
    kind = models.CharField(max_length=30)
    subject = models.BigIntegerField(help_text="The row it is about")
    body = models.JSONField(default=dict)
    salt = models.CharField(max_length=32, blank=True, default="")
    personal = models.CharField(max_length=64, blank=True, default="")
    leaf = models.CharField(max_length=64)

    class Meta:
        ordering = ("number",)
        constraints = [
            models.UniqueConstraint(fields=("program", "number"), name="ledger_number_once"),
            models.UniqueConstraint(
                fields=("program", "kind", "subject"), name="ledger_entry_once"
            ),
        ]

    def __str__(self) -> str:
        return f"entry {self.number}: {self.kind} {self.subject}"


class LedgerSeal(models.Model):
    """The Merkle root over the first `size` entries, made nightly; its head leaves the house."""

    program = models.ForeignKey(Program, on_delete=models.CASCADE, related_name="seals")
    size = models.PositiveBigIntegerField()
    root = models.CharField(max_length=64)
    sealed_on = models.DateField()
    sealed_at = models.DateTimeField()

    class Meta:
        ordering = ("-size",)
        constraints = [models.UniqueConstraint(fields=("program", "size"), name="ledger_seal_once")]

    def __str__(self) -> str:
        return self.head

    @property
    def head(self) -> str:
        """What is printed: `size:root`."""
        return f"{self.size}:{self.root}"
