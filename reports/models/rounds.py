"""Plans, the rounds in them, and their stops; a promised stop outlives a replan."""

from __future__ import annotations

from django.db import models

from notices.domain.long_dates import long_date
from registry.models import Assembly, Firm, Premises, Program, Tester
from scheduling.models import Obligation


class Plan(models.Model):
    """One planning of a program's days; the newest is the one that counts."""

    program = models.ForeignKey(Program, on_delete=models.CASCADE, related_name="plans")
    from_on = models.DateField()
    days = models.PositiveSmallIntegerField()
    made_at = models.DateTimeField()
    made_by = models.CharField(max_length=150, blank=True, default="")
    seed = models.PositiveIntegerField(default=0)
    iterations = models.PositiveIntegerField(null=True, blank=True)
    seconds = models.PositiveIntegerField(null=True, blank=True)
    feasible = models.BooleanField(default=True)
    how = models.CharField(max_length=20, default="solver")
    visits = models.PositiveIntegerField(default=0)
    drive_minutes = models.PositiveIntegerField(default=0)
    work_minutes = models.PositiveIntegerField(default=0)
    travel_how = models.CharField(max_length=60, default="")
    travel_factor = models.DecimalField(max_digits=5, decimal_places=3, default=0)
    minutes_from = models.CharField(
        max_length=300, blank=True, default="", help_text="Where the minutes of visits come from"
    )
    travel_kmh = models.DecimalField(max_digits=5, decimal_places=1, default=0)

    class Meta:
        ordering = ("-made_at", "-id")

    def __str__(self) -> str:
        count = f"{self.days} day{'' if self.days == 1 else 's'}"
        return f"{count} from {long_date(self.from_on)}"


class PlanLeftOut(models.Model):
    """A premises the plan could not take, and why, in words."""

    plan = models.ForeignKey(Plan, on_delete=models.CASCADE, related_name="left_out")
    premises = models.ForeignKey(Premises, on_delete=models.CASCADE, related_name="left_out")
    kind = models.CharField(max_length=40)
    reason = models.CharField(max_length=500)
    helps = models.CharField(
        max_length=300, blank=True, default="", help_text="What would let it be planned"
    )

    def __str__(self) -> str:
        return f"{self.premises}: {self.reason}"


class Round(models.Model):
    """A tester's day: starts and ends are those of the working day."""

    plan = models.ForeignKey(Plan, on_delete=models.CASCADE, related_name="rounds")
    firm = models.ForeignKey(Firm, on_delete=models.CASCADE, related_name="rounds")
    tester = models.ForeignKey(Tester, on_delete=models.CASCADE, related_name="rounds")
    on = models.DateField()
    starts_at = models.DateTimeField()
    ends_at = models.DateTimeField()
    lunch_from = models.DateTimeField(null=True, blank=True)
    lunch_to = models.DateTimeField(null=True, blank=True)
    depot_lat = models.DecimalField(max_digits=9, decimal_places=6)
    depot_lon = models.DecimalField(max_digits=9, decimal_places=6)
    drive_minutes = models.PositiveIntegerField(default=0)
    work_minutes = models.PositiveIntegerField(default=0)

    class Meta:
        ordering = ("on", "tester")
        constraints = [
            models.UniqueConstraint(fields=("plan", "tester", "on"), name="one_round_a_day")
        ]

    def __str__(self) -> str:
        return f"{self.tester} on {long_date(self.on)}"


class Stop(models.Model):
    """One visit of a round; its UID stays through replans, its revision only rises."""

    program = models.ForeignKey(Program, on_delete=models.CASCADE, related_name="stops")
    round = models.ForeignKey(
        Round, null=True, blank=True, on_delete=models.SET_NULL, related_name="stops"
    )
    premises = models.ForeignKey(Premises, on_delete=models.CASCADE, related_name="stops")
    uid = models.CharField(max_length=255, unique=True)
    place = models.PositiveSmallIntegerField(default=0, help_text="Order in the round, from 1")
    arrives_at = models.DateTimeField()
    leaves_at = models.DateTimeField()
    promised_at = models.DateTimeField(null=True, blank=True)
    promised_by = models.CharField(max_length=150, blank=True, default="")
    pinned_at = models.DateTimeField(
        null=True, blank=True, help_text="A person wants it here; a replan does not move it"
    )
    second_of = models.ForeignKey(
        "self",
        null=True,
        blank=True,
        on_delete=models.CASCADE,
        related_name="seconds",
        help_text="The visit at which this tester is the second person",
    )
    revision = models.PositiveIntegerField(default=0)
    revised_at = models.DateTimeField()
    cancelled_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ("arrives_at", "id")

    def __str__(self) -> str:
        return f"stop {self.place} at {self.premises}"

    @property
    def is_fixed(self) -> bool:
        """Whether a replan leaves it: promised to the customer, or pinned by a person."""
        return self.promised_at is not None or self.pinned_at is not None


class StopWork(models.Model):
    """One assembly to be tested at a stop, and the obligation it serves."""

    stop = models.ForeignKey(Stop, on_delete=models.CASCADE, related_name="work")
    assembly = models.ForeignKey(Assembly, on_delete=models.CASCADE, related_name="stop_work")
    obligation = models.ForeignKey(
        Obligation, null=True, blank=True, on_delete=models.SET_NULL, related_name="stop_work"
    )

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=("stop", "assembly"), name="assembly_once_a_stop")
        ]

    def __str__(self) -> str:
        return f"{self.assembly} at stop {self.stop_id}"


class PlanChange(models.Model):
    """One change of planned days by hand, kept so that it can be taken back.

    ``before`` and ``after`` hold the changed stops by id: whose round on which day, place, times,
    promise, pin, and whether called off.
    """

    program = models.ForeignKey(Program, on_delete=models.CASCADE, related_name="plan_changes")
    at = models.DateTimeField()
    by = models.CharField(max_length=150)
    words = models.CharField(max_length=500)
    before = models.JSONField(default=dict)
    after = models.JSONField(default=dict)
    undone_at = models.DateTimeField(null=True, blank=True)
    undone_by = models.CharField(max_length=150, blank=True, default="")

    class Meta:
        ordering = ("-at", "-id")

    def __str__(self) -> str:
        return self.words


class NotForVisit(models.Model):
    """Who or which day is out of the question for a premises, by a person's word."""

    premises = models.ForeignKey(Premises, on_delete=models.CASCADE, related_name="not_for_visit")
    tester = models.ForeignKey(
        Tester, null=True, blank=True, on_delete=models.CASCADE, related_name="not_for_visit"
    )
    on = models.DateField(null=True, blank=True)
    weekday = models.PositiveSmallIntegerField(null=True, blank=True, help_text="0 is Monday")
    until_on = models.DateField(null=True, blank=True, help_text="The last day it holds")
    reason = models.CharField(max_length=300)
    at = models.DateTimeField()
    by = models.CharField(max_length=150)
    ended_at = models.DateTimeField(null=True, blank=True)
    ended_by = models.CharField(max_length=150, blank=True, default="")

    class Meta:
        ordering = ("at", "id")
        constraints = [
            models.CheckConstraint(
                condition=models.Q(tester__isnull=False)
                | models.Q(on__isnull=False)
                | models.Q(weekday__isnull=False),
                name="not_for_visit_names_something",
            ),
            models.CheckConstraint(
                condition=models.Q(weekday__isnull=True) | models.Q(weekday__lte=6),
                name="not_for_visit_on_a_weekday",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.premises}: not {self.tester or ''} {self.on or ''}"
