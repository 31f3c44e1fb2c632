"""What a person decided for one assembly or a group, from when to when, and who approved it."""

from __future__ import annotations

from django.db import models

from registry.models import Assembly, Premises, Program, ServiceConnection
from scheduling.domain.decisions import Subject
from scheduling.models.facts import Fact
from scheduling.models.subjects import one_subject


class Decision(models.Model):
    """An extension, a hold, a stopped clock, an idle time or an exemption; ended as one.

    `until` is the end of an extension or a hold, and the review day of an idle time or an
    exemption. While `replay_on` stands, the dates of its members are still to be worked out anew,
    from that day on: those after the member `replayed_to`.
    """

    program = models.ForeignKey(Program, on_delete=models.CASCADE, related_name="decisions")
    kind = models.CharField(max_length=20, help_text="A FactKind that a person decides")
    name = models.CharField(max_length=200, blank=True, default="", help_text="Of the group")
    chosen_by = models.CharField(
        max_length=300, blank=True, default="", help_text="How its members were found, in words"
    )
    on = models.DateField()
    until = models.DateField(null=True, blank=True)
    reason = models.CharField(max_length=500)
    approved_by = models.CharField(max_length=150)
    made_at = models.DateTimeField()
    made_by = models.CharField(max_length=150)
    ended_on = models.DateField(null=True, blank=True)
    ended_at = models.DateTimeField(null=True, blank=True)
    ended_by = models.CharField(max_length=150, blank=True, default="")
    ended_reason = models.CharField(max_length=500, blank=True, default="")
    replay_on = models.DateField(
        null=True, blank=True, help_text="From when its members' dates follow; empty: they do"
    )
    replayed_to = models.BigIntegerField(default=0, help_text="The last member whose dates follow")

    class Meta:
        ordering = ("-made_at", "-id")
        indexes = [
            models.Index(
                fields=("program", "replay_on"),
                condition=models.Q(replay_on__isnull=False),
                name="decision_to_carry_on",
            ),
            models.Index(
                fields=("program", "until"),
                condition=models.Q(ended_at__isnull=True),
                name="decision_to_review",
            ),
            models.Index(fields=("program", "-made_at", "-id"), name="decision_by_day"),
        ]

    def __str__(self) -> str:
        return f"{self.name or self.kind} from {self.on}"


class DecisionMember(models.Model):
    """One assembly, service or premises in a decision, the fact it brought, and its due date
    before and after: of a service or a premises the earliest of what it owes.
    """

    decision = models.ForeignKey(Decision, on_delete=models.CASCADE, related_name="members")
    assembly = models.ForeignKey(
        Assembly, null=True, blank=True, on_delete=models.CASCADE, related_name="decisions"
    )
    connection = models.ForeignKey(
        ServiceConnection,
        null=True,
        blank=True,
        on_delete=models.CASCADE,
        related_name="decisions",
        help_text="The service of which protection is owed",
    )
    premises = models.ForeignKey(
        Premises,
        null=True,
        blank=True,
        on_delete=models.CASCADE,
        related_name="decisions",
        help_text="The premises of which a survey is owed",
    )
    what = models.CharField(
        max_length=120,
        blank=True,
        default="",
        db_default="",
        help_text="The kinds of work it owed when it was decided; empty for an assembly",
    )
    fact = models.ForeignKey(
        Fact, on_delete=models.CASCADE, related_name="decided", help_text="The fact that holds now"
    )
    due_before = models.DateField(null=True, blank=True)
    due_after = models.DateField(null=True, blank=True)

    class Meta:
        ordering = ("id",)
        constraints = [
            models.UniqueConstraint(fields=("decision", "assembly"), name="in_a_decision_once"),
            models.UniqueConstraint(
                fields=("decision", "connection"), name="service_in_a_decision_once"
            ),
            models.UniqueConstraint(
                fields=("decision", "premises"), name="premises_in_a_decision_once"
            ),
            models.CheckConstraint(condition=one_subject(), name="member_is_one_subject"),
        ]

    def __str__(self) -> str:
        return f"{self.subject.word} in {self.decision_id}"

    @property
    def subject(self) -> Subject:
        """What it is about, by its id."""
        if self.premises_id is not None:
            return Subject("premises", self.premises_id)
        if self.connection_id is not None:
            return Subject("connection", self.connection_id)
        return Subject("assembly", self.assembly_id or 0)

    @property
    def where(self) -> Premises:
        """The premises it is, or where its assembly or service is."""
        if self.premises is not None:
            return self.premises
        if self.connection is not None:
            return self.connection.premises
        if self.assembly is None:
            raise ValueError(f"Member {self.pk} of a decision is of nothing.")
        return self.assembly.premises
