"""Shutoffs: the case of an order from its signature until water is back, with its work orders."""

from __future__ import annotations

from django.conf import settings
from django.db import models
from django.db.models import Q

from notices.domain.shutoffs import LIVE_SHUTOFFS, ShutoffState, WorkOrderState
from notices.models.letters import Letter, OrderSignature
from registry.models import Premises, Program, ServiceConnection


class SecondSignature(models.Model):
    """The second person under an order, where the rulebook asks for one; never the first again."""

    first = models.OneToOneField(
        OrderSignature, primary_key=True, on_delete=models.CASCADE, related_name="second"
    )
    user = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    name = models.CharField(max_length=150)
    role = models.CharField(max_length=40)
    at = models.DateTimeField()
    evidence_sha256 = models.CharField(max_length=64)

    def __str__(self) -> str:
        return f"signed too by {self.name}"


class Shutoff(models.Model):
    """Water ordered off at a premises: by a signed order letter, or at once by an emergency order.

    The emergency order is signed on its own page; `evidence` is what stood before the signer's
    eyes, and `notice_by` the last day of the rulebook for the notice after the fact.
    """

    program = models.ForeignKey(Program, on_delete=models.CASCADE, related_name="shutoffs")
    premises = models.ForeignKey(Premises, on_delete=models.CASCADE, related_name="shutoffs")
    order = models.OneToOneField(
        Letter, null=True, blank=True, on_delete=models.PROTECT, related_name="shutoff"
    )
    is_emergency = models.BooleanField(default=False)
    reason = models.TextField(max_length=1000, blank=True, default="")
    citation = models.CharField(max_length=500, blank=True, default="")
    state = models.CharField(max_length=20, default=ShutoffState.SIGNED.value)
    signed_on = models.DateField()
    signed_at = models.DateTimeField()
    signed_by = models.CharField(max_length=150)
    signed_role = models.CharField(max_length=40)
    user = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    evidence = models.JSONField(default=dict)
    evidence_sha256 = models.CharField(max_length=64)
    notice_by = models.DateField(null=True, blank=True)
    proof = models.CharField(max_length=20, blank=True, default="")
    proof_on = models.DateField(null=True, blank=True)
    proof_words = models.CharField(max_length=500, blank=True, default="")
    proved_by = models.CharField(max_length=150, blank=True, default="")
    proved_at = models.DateTimeField(null=True, blank=True)
    ended_on = models.DateField(null=True, blank=True)
    ended_by = models.CharField(max_length=150, blank=True, default="")
    ended_why = models.CharField(max_length=500, blank=True, default="")

    class Meta:
        ordering = ("-signed_at", "-id")
        constraints = [
            models.UniqueConstraint(
                fields=("premises",),
                condition=Q(state__in=sorted(state.value for state in LIVE_SHUTOFFS)),
                name="one_live_shutoff",
            ),
            models.CheckConstraint(
                condition=Q(order__isnull=False) ^ Q(is_emergency=True),
                name="shutoff_by_order_or_emergency",
            ),
        ]
        indexes = [models.Index(fields=("program", "state"), name="shutoff_by_state")]

    def __str__(self) -> str:
        return f"shutoff {self.pk} at {self.premises}"


class WorkOrder(models.Model):
    """What the field crew is sent to do at one service; its paper is kept as it was made."""

    program = models.ForeignKey(Program, on_delete=models.CASCADE, related_name="work_orders")
    shutoff = models.ForeignKey(Shutoff, on_delete=models.CASCADE, related_name="work_orders")
    connection = models.ForeignKey(
        ServiceConnection, on_delete=models.PROTECT, related_name="work_orders"
    )
    number = models.PositiveIntegerField(help_text="Counts within the program")
    kind = models.CharField(max_length=20, help_text="water off, water back")
    state = models.CharField(max_length=20, default=WorkOrderState.WAITING.value)
    for_on = models.DateField(help_text="The day to do it on; of water back: from then on")
    ordered_at = models.DateTimeField()
    ordered_by = models.CharField(max_length=150)
    content = models.JSONField(default=dict, help_text="What its paper says")
    pdf = models.BinaryField()
    sha256 = models.CharField(max_length=64)
    done_on = models.DateField(null=True, blank=True)
    done_time = models.TimeField(null=True, blank=True)
    done_by = models.CharField(max_length=150, blank=True, default="")
    reading = models.CharField(max_length=60, blank=True, default="", help_text="Of the meter")
    words = models.CharField(max_length=500, blank=True, default="")
    recorded_at = models.DateTimeField(null=True, blank=True)
    recorded_by = models.CharField(max_length=150, blank=True, default="")
    called_off_at = models.DateTimeField(null=True, blank=True)
    called_off_by = models.CharField(max_length=150, blank=True, default="")
    called_off_why = models.CharField(max_length=500, blank=True, default="")

    class Meta:
        ordering = ("number",)
        constraints = [
            models.UniqueConstraint(fields=("program", "number"), name="work_order_number_once"),
            models.UniqueConstraint(
                fields=("shutoff", "connection", "kind"),
                condition=~Q(state=WorkOrderState.CALLED_OFF.value),
                name="one_work_order_of_a_kind",
            ),
        ]

    def __str__(self) -> str:
        return f"work order {self.number}, {self.kind}"


class ShutoffAnswer(models.Model):
    """What the fire department, or who needs the water, answered about shutting it off.

    The newest one that is not struck decides, until its last day.
    """

    program = models.ForeignKey(Program, on_delete=models.CASCADE, related_name="shutoff_answers")
    premises = models.ForeignKey(Premises, on_delete=models.CASCADE, related_name="shutoff_answers")
    kind = models.CharField(max_length=20, help_text="fire department, medical supply")
    says = models.CharField(max_length=20, help_text="may go off, stays on")
    said_on = models.DateField()
    said_by = models.CharField(max_length=200, help_text="Who answered")
    words = models.CharField(max_length=500)
    until = models.DateField(null=True, blank=True, help_text="The last day it holds")
    recorded_at = models.DateTimeField()
    recorded_by = models.CharField(max_length=150)
    struck_at = models.DateTimeField(null=True, blank=True)
    struck_by = models.CharField(max_length=150, blank=True, default="")
    struck_why = models.CharField(max_length=500, blank=True, default="")

    class Meta:
        ordering = ("-said_on", "-id")
        indexes = [models.Index(fields=("premises", "kind"), name="answer_by_premises")]

    def __str__(self) -> str:
        return f"{self.kind}: {self.says}"


class Fee(models.Model):
    """A fee the rulebook names, written down as owed, paid or waived; no payment is taken here."""

    program = models.ForeignKey(Program, on_delete=models.CASCADE, related_name="fees")
    premises = models.ForeignKey(Premises, on_delete=models.CASCADE, related_name="fees")
    shutoff = models.ForeignKey(
        Shutoff, null=True, blank=True, on_delete=models.SET_NULL, related_name="fees"
    )
    rule = models.CharField(max_length=80)
    citation = models.CharField(max_length=500)
    amount = models.DecimalField(max_digits=9, decimal_places=2, help_text="In dollars")
    why = models.CharField(max_length=300)
    owed_on = models.DateField()
    state = models.CharField(max_length=20, default="owed")
    settled_on = models.DateField(null=True, blank=True)
    settled_by = models.CharField(max_length=150, blank=True, default="")
    settled_at = models.DateTimeField(null=True, blank=True)
    settled_words = models.CharField(max_length=300, blank=True, default="")
    form_key = models.CharField(max_length=40)
    recorded_at = models.DateTimeField()
    recorded_by = models.CharField(max_length=150)

    class Meta:
        ordering = ("-owed_on", "-id")
        constraints = [
            models.UniqueConstraint(fields=("program", "form_key"), name="fee_form_once"),
            models.CheckConstraint(condition=Q(amount__gt=0), name="fee_above_nothing"),
        ]

    def __str__(self) -> str:
        return f"{self.amount} {self.state}"
