"""How letters go out: one delivery for each channel, every try of it, and the paper runs."""

from __future__ import annotations

from django.db import models
from django.db.models import Q

from notices.models.letters import Letter
from registry.models import Program


class PaperRun(models.Model):
    """Letters printed together: one PDF, made again from kept bytes to the same digest."""

    program = models.ForeignKey(Program, on_delete=models.CASCADE, related_name="paper_runs")
    number = models.PositiveIntegerField(help_text="Counts within the program")
    channel = models.CharField(max_length=30)
    made_on = models.DateField()
    made_at = models.DateTimeField()
    made_by = models.CharField(max_length=150)
    letters = models.PositiveIntegerField()
    sheets = models.PositiveIntegerField(help_text="Of paper, printed on both sides")
    mailed_on = models.DateField(null=True, blank=True)
    mailed_at = models.DateTimeField(null=True, blank=True)
    mailed_by = models.CharField(max_length=150, blank=True, default="")

    class Meta:
        ordering = ("-number",)
        constraints = [
            models.UniqueConstraint(fields=("program", "number"), name="paper_run_number_once")
        ]

    def __str__(self) -> str:
        return f"run {self.number}"


class Delivery(models.Model):
    """A letter by one channel: it waits, goes, and has left, or failed; never made twice.

    `claim` and `claimed_until` are a worker's lease, counted by the database's clock. What a
    try or a bounce said stands in its tries.
    """

    letter = models.ForeignKey(Letter, on_delete=models.CASCADE, related_name="deliveries")
    channel = models.CharField(max_length=30)
    state = models.CharField(max_length=40, default="waiting")
    is_required = models.BooleanField(
        default=True, help_text="The rung has not left before this has"
    )
    address = models.CharField(max_length=254, blank=True, default="", help_text="E-mail, as used")
    message_id = models.CharField(max_length=200, blank=True, default="")
    came_from = models.ForeignKey(
        "self", null=True, blank=True, on_delete=models.SET_NULL, related_name="became"
    )
    run = models.ForeignKey(
        PaperRun, null=True, blank=True, on_delete=models.SET_NULL, related_name="deliveries"
    )
    place = models.PositiveIntegerField(null=True, blank=True, help_text="In its paper run")
    tries = models.PositiveSmallIntegerField(default=0)
    unknown_tries = models.PositiveSmallIntegerField(
        default=0, help_text="Tries that ended without an answer"
    )
    first_tried_at = models.DateTimeField(null=True, blank=True)
    not_before = models.DateTimeField(null=True, blank=True)
    claim = models.CharField(max_length=32, blank=True, default="")
    claimed_until = models.DateTimeField(null=True, blank=True)
    left_on = models.DateField(null=True, blank=True)
    left_at = models.DateTimeField(null=True, blank=True)
    delivered_on = models.DateField(
        null=True, blank=True, help_text="By a receipt or a person who handed it over"
    )
    detail = models.CharField(max_length=500, blank=True, default="")
    tracking = models.CharField(max_length=60, blank=True, default="")

    class Meta:
        ordering = ("id",)
        verbose_name_plural = "deliveries"
        constraints = [
            models.UniqueConstraint(fields=("letter", "channel"), name="delivery_once_by_channel"),
            models.UniqueConstraint(
                fields=("message_id",), condition=~Q(message_id=""), name="message_id_once"
            ),
            models.UniqueConstraint(fields=("run", "place"), name="one_place_in_a_run"),
        ]
        indexes = [
            models.Index(
                fields=("channel", "id"),
                condition=Q(state__in=("waiting", "going")),
                name="delivery_to_go",
            )
        ]

    def __str__(self) -> str:
        return f"{self.channel}: {self.state}"


class DeliveryTry(models.Model):
    """One try of a delivery, or what was heard of it later, in the server's own words."""

    delivery = models.ForeignKey(Delivery, on_delete=models.CASCADE, related_name="log")
    at = models.DateTimeField()
    outcome = models.CharField(max_length=20)
    code = models.CharField(max_length=20, blank=True, default="")
    words = models.CharField(max_length=500, blank=True, default="")
    source = models.TextField(blank=True, default="", help_text="A bounce as it came")

    class Meta:
        ordering = ("at", "id")
        verbose_name_plural = "delivery tries"

    def __str__(self) -> str:
        return f"{self.outcome} {self.code}".strip()


class MailStop(models.Model):
    """An address the program does not write to by e-mail: it failed, or its owner said so.

    `is_courtesy_only`: lawful notices still go there. A person may lift it.
    """

    program = models.ForeignKey(Program, on_delete=models.CASCADE, related_name="mail_stops")
    address = models.CharField(max_length=254, help_text="In lower case")
    is_courtesy_only = models.BooleanField(default=False)
    words = models.CharField(max_length=500, blank=True, default="")
    since_at = models.DateTimeField()
    lifted_at = models.DateTimeField(null=True, blank=True)
    lifted_by = models.CharField(max_length=150, blank=True, default="")

    class Meta:
        ordering = ("-since_at", "-id")
        constraints = [
            models.UniqueConstraint(
                fields=("program", "address", "is_courtesy_only"),
                condition=Q(lifted_at__isnull=True),
                name="one_stop_for_an_address",
            )
        ]

    def __str__(self) -> str:
        return f"nothing by e-mail to {self.address}"
