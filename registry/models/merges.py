"""Two rows that were one: what moved, under which old name it is still found, how to undo it."""

from __future__ import annotations

from django.db import models

from registry.models.assemblies import Assembly
from registry.models.premises import Party
from registry.models.programs import Program


class Merge(models.Model):
    """One merging of two parties or two assemblies, with everything its undoing needs."""

    program = models.ForeignKey(Program, on_delete=models.CASCADE, related_name="merges")
    what = models.CharField(max_length=20, help_text="party or assembly")
    kept_id = models.BigIntegerField()
    kept_label = models.CharField(max_length=300)
    gone_id = models.BigIntegerField()
    gone_label = models.CharField(max_length=300)
    record = models.JSONField(default=dict, help_text="Rows as they were, and what moved")
    at = models.DateTimeField()
    on = models.DateField()
    by = models.CharField(max_length=150)
    reason = models.CharField(max_length=500, blank=True, default="")
    undone_at = models.DateTimeField(null=True, blank=True)
    undone_by = models.CharField(max_length=150, blank=True, default="")

    class Meta:
        ordering = ("-at", "-id")
        indexes = [models.Index(fields=("program", "what", "kept_id"), name="merge_by_kept")]

    def __str__(self) -> str:
        return f"{self.gone_label} merged into {self.kept_label}"


class Alias(models.Model):
    """A name or number under which a merged party or assembly was known, and is still found."""

    program = models.ForeignKey(Program, on_delete=models.CASCADE, related_name="aliases")
    merge = models.ForeignKey(Merge, on_delete=models.CASCADE, related_name="aliases")
    assembly = models.ForeignKey(
        Assembly, null=True, blank=True, on_delete=models.CASCADE, related_name="aliases"
    )
    party = models.ForeignKey(
        Party, null=True, blank=True, on_delete=models.CASCADE, related_name="aliases"
    )
    shown = models.CharField(max_length=300, help_text="Serial, or name, as it was written")
    maker = models.CharField(max_length=120, blank=True, default="")
    maker_key = models.CharField(max_length=120, blank=True, default="")
    key = models.CharField(max_length=120, help_text="Serial key, or the party's digest")

    class Meta:
        ordering = ("id",)
        indexes = [models.Index(fields=("program", "key"), name="alias_by_key")]

    def __str__(self) -> str:
        return f"{self.shown}, now {self.assembly or self.party}"
