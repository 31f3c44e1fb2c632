"""Premises, the parties behind them, and what a visit and a letter must respect there."""

from __future__ import annotations

from django.db import models
from django.utils import timezone

from registry.domain.kinds import PartyRole
from registry.models.choices import choices_of
from registry.models.programs import Program


class Party(models.Model):
    """A person or company with a mailing address, known by name and mailing address."""

    program = models.ForeignKey(Program, on_delete=models.CASCADE, related_name="parties")
    name = models.CharField(max_length=300)
    address = models.CharField(max_length=300, blank=True, default="")
    city = models.CharField(max_length=120, blank=True, default="")
    state = models.CharField(max_length=40, blank=True, default="")
    zip = models.CharField(max_length=20, blank=True, default="")
    email = models.CharField(max_length=254, blank=True, default="")
    phone = models.CharField(max_length=60, blank=True, default="")
    language = models.CharField(max_length=10, default="en")
    key = models.CharField(
        max_length=64, help_text="Digest of the normalised name and mailing address"
    )

    class Meta:
        ordering = ("name", "id")
        constraints = [
            models.UniqueConstraint(fields=("program", "key"), name="party_once_per_program")
        ]

    def __str__(self) -> str:
        return self.name


class Premises(models.Model):
    """A customer's site: the water account with its address."""

    program = models.ForeignKey(Program, on_delete=models.CASCADE, related_name="premises")
    account = models.CharField(max_length=60, blank=True, default="")
    name = models.CharField(max_length=300, blank=True, default="")
    address = models.CharField(max_length=300)
    city = models.CharField(max_length=120, blank=True, default="")
    state = models.CharField(max_length=40, blank=True, default="")
    zip = models.CharField(max_length=20, blank=True, default="")
    lat = models.DecimalField(max_digits=9, decimal_places=6, null=True, blank=True)
    lon = models.DecimalField(max_digits=9, decimal_places=6, null=True, blank=True)
    use = models.CharField(max_length=120, blank=True, default="")
    key = models.CharField(max_length=64, help_text="Digest of the account and its address")
    parties = models.ManyToManyField(Party, through="PremisesParty", related_name="premises")
    has_medical_supply = models.BooleanField(default=False)
    medical_consent = models.CharField(max_length=300, blank=True, default="")
    has_combined_fire = models.BooleanField(default=False)
    fire_answer = models.CharField(max_length=300, blank=True, default="")
    has_tenants = models.BooleanField(default=False)
    language = models.CharField(max_length=10, blank=True, default="")
    phone = models.CharField(max_length=60, blank=True, default="")
    open_hours = models.JSONField(
        default=dict, blank=True, help_text='Weekday 0 (Monday) to 6: [["08:00", "12:00"], …]'
    )
    closed_days = models.JSONField(default=list, blank=True, help_text="ISO dates")
    notice_days = models.PositiveSmallIntegerField(default=0)
    call_when = models.CharField(
        max_length=120, blank=True, default="", db_default="", help_text="Best time to telephone"
    )
    shutdown_tell = models.CharField(
        max_length=300,
        blank=True,
        default="",
        db_default="",
        help_text="Whom to tell before the water goes off",
    )
    shutdown_days = models.PositiveSmallIntegerField(
        default=0, db_default=0, help_text="How many days before the water goes off"
    )
    access_notes = models.TextField(blank=True, default="")
    notes = models.TextField(blank=True, default="")
    account_closed_on = models.DateField(
        null=True, blank=True, help_text="The day a person accepted that the account is closed"
    )
    created_at = models.DateTimeField(default=timezone.now)
    was = models.JSONField(
        null=True,
        blank=True,
        default=None,
        help_text="Its use before changes that hold from a day on, oldest first: until, "
        "recorded_at, use",
    )

    class Meta:
        ordering = ("address", "id")
        verbose_name_plural = "premises"
        constraints = [
            models.UniqueConstraint(fields=("program", "key"), name="premises_once_per_program")
        ]
        indexes = [
            models.Index(fields=("program", "account"), name="premises_by_account"),
            models.Index(fields=("program", "address"), name="premises_by_address"),
        ]

    def __str__(self) -> str:
        return self.name or self.address


class PremisesParty(models.Model):
    """What a party is to a premises, and since when; a change of owner restarts lawful notices."""

    premises = models.ForeignKey(Premises, on_delete=models.CASCADE, related_name="roles")
    party = models.ForeignKey(Party, on_delete=models.CASCADE, related_name="roles")
    role = models.CharField(max_length=20, choices=choices_of(PartyRole))
    since_on = models.DateField(null=True, blank=True)
    until_on = models.DateField(null=True, blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=("premises", "role"),
                condition=models.Q(until_on__isnull=True),
                name="one_party_per_role_now",
            )
        ]

    def __str__(self) -> str:
        return f"{self.party} is {self.role} of {self.premises}"
