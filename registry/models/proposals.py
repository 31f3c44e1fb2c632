"""What a refreshed customer file proposes: nothing is overwritten until a person accepts."""

from __future__ import annotations

from django.db import models

from registry.domain.proposals import ProposalKind, SettledHow
from registry.models.changes import LoadBatch
from registry.models.choices import choices_of
from registry.models.premises import Party, Premises
from registry.models.programs import Program


class Proposal(models.Model):
    """One difference between a customer file and the registry, accepted or refused by a person."""

    program = models.ForeignKey(Program, on_delete=models.CASCADE, related_name="proposals")
    kind = models.CharField(max_length=30, choices=choices_of(ProposalKind))
    premises = models.ForeignKey(Premises, on_delete=models.CASCADE, related_name="proposals")
    party = models.ForeignKey(
        Party, null=True, blank=True, on_delete=models.CASCADE, related_name="proposals"
    )
    before = models.JSONField(default=dict)
    after = models.JSONField(default=dict)
    note = models.CharField(max_length=300, blank=True, default="")
    subject = models.CharField(max_length=40, help_text="premises:<id> or party:<id>")
    digest = models.CharField(max_length=64, help_text="Kind, subject and both sides")
    batch = models.ForeignKey(
        LoadBatch, null=True, blank=True, on_delete=models.SET_NULL, related_name="proposals"
    )
    row = models.PositiveIntegerField(null=True, blank=True)
    raised_on = models.DateField()
    settled_at = models.DateTimeField(null=True, blank=True)
    settled_by = models.CharField(max_length=150, blank=True, default="")
    settled_how = models.CharField(
        max_length=20, choices=choices_of(SettledHow), blank=True, default=""
    )
    reason = models.CharField(max_length=500, blank=True, default="")

    class Meta:
        ordering = ("raised_on", "id")
        constraints = [
            models.UniqueConstraint(
                fields=("program", "digest"),
                condition=models.Q(settled_at__isnull=True),
                name="proposal_waits_once",
            )
        ]
        indexes = [
            models.Index(fields=("program", "settled_at", "kind"), name="proposal_by_kind"),
        ]

    def __str__(self) -> str:
        return f"{self.kind} at {self.premises}"
