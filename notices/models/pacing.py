"""How an office paces its letters: days on which none leaves, an order of its own, gathering."""

from __future__ import annotations

from django.db import models
from django.db.models import F, Q

from registry.models import Party, Program


class LetterHold(models.Model):
    """All letters of a program held up to and with a day; it ends by itself, or sooner by a person.

    Meanwhile nothing is composed and nothing leaves; obligations open and close as ever.
    """

    program = models.ForeignKey(Program, on_delete=models.CASCADE, related_name="letter_holds")
    since_on = models.DateField()
    until_on = models.DateField(help_text="The last day on which nothing leaves")
    reason = models.CharField(max_length=500)
    made_by = models.CharField(max_length=150)
    made_at = models.DateTimeField()
    ended_on = models.DateField(
        null=True, blank=True, help_text="The first day on which letters leave again"
    )
    ended_by = models.CharField(max_length=150, blank=True, default="")

    class Meta:
        ordering = ("-since_on", "-id")
        constraints = [
            models.UniqueConstraint(
                fields=("program",), condition=Q(ended_on__isnull=True), name="one_hold_at_a_time"
            ),
            models.CheckConstraint(
                condition=Q(until_on__gte=F("since_on")), name="a_hold_ends_after_it_begins"
            ),
        ]

    def __str__(self) -> str:
        return f"held from {self.since_on} to {self.until_on}"


class QuietDays(models.Model):
    """Days on which no letter leaves; what is owed is recorded all the same."""

    program = models.ForeignKey(Program, on_delete=models.CASCADE, related_name="quiet_days")
    from_on = models.DateField()
    to_on = models.DateField()
    why = models.CharField(max_length=200)
    made_by = models.CharField(max_length=150)
    made_at = models.DateTimeField()

    class Meta:
        ordering = ("from_on", "id")
        verbose_name_plural = "quiet days"
        constraints = [
            models.UniqueConstraint(fields=("program", "from_on", "to_on"), name="quiet_days_once"),
            models.CheckConstraint(
                condition=Q(to_on__gte=F("from_on")), name="quiet_days_end_after_they_begin"
            ),
        ]

    def __str__(self) -> str:
        return f"quiet from {self.from_on} to {self.to_on}"


class OrderMove(models.Model):
    """A group of letters that an office moved forward or back in the order of what waits."""

    program = models.ForeignKey(Program, on_delete=models.CASCADE, related_name="order_moves")
    group = models.CharField(max_length=20, help_text="What the group is told by: hazard, street …")
    value = models.CharField(max_length=200)
    is_forward = models.BooleanField()
    reason = models.CharField(max_length=500)
    made_by = models.CharField(max_length=150)
    made_at = models.DateTimeField()
    ended_at = models.DateTimeField(null=True, blank=True)
    ended_by = models.CharField(max_length=150, blank=True, default="")

    class Meta:
        ordering = ("-id",)
        constraints = [
            models.UniqueConstraint(
                fields=("program", "group", "value"),
                condition=Q(ended_at__isnull=True),
                name="one_move_of_a_group",
            )
        ]

    def __str__(self) -> str:
        return f"{self.group} {self.value}"


class Gathering(models.Model):
    """A recipient whose courtesy letters wait for a day of the month, and leave together."""

    party = models.OneToOneField(
        Party, primary_key=True, on_delete=models.CASCADE, related_name="gathering"
    )
    day_of_month = models.PositiveSmallIntegerField(help_text="1 to 28")
    set_by = models.CharField(max_length=150)
    set_at = models.DateTimeField()

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(day_of_month__gte=1, day_of_month__lte=28),
                name="gathered_on_a_day_of_every_month",
            )
        ]

    def __str__(self) -> str:
        return f"gathered on day {self.day_of_month}"
