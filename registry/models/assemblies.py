"""Service connections, the assemblies on them, and the hazards they stand against."""

from __future__ import annotations

from django.db import models
from django.utils import timezone

from registry.domain.kinds import AssemblyType, Hazard, Protects, ServiceKind
from registry.models.choices import choices_of
from registry.models.premises import Premises
from registry.models.programs import Program


class ServiceConnection(models.Model):
    """Where the main feeds the premises."""

    premises = models.ForeignKey(Premises, on_delete=models.CASCADE, related_name="connections")
    kind = models.CharField(
        max_length=40,
        choices=choices_of(ServiceKind),
        blank=True,
        default=ServiceKind.UNKNOWN.value,
    )
    name = models.CharField(max_length=120, blank=True, default="")
    has_chemicals = models.BooleanField(
        null=True, blank=True, help_text="Chemicals are fed into it; empty: nobody recorded it"
    )
    runs_part_year = models.BooleanField(
        null=True, blank=True, help_text="Runs less than six months a year; empty: not recorded"
    )
    created_at = models.DateTimeField(default=timezone.now)
    was = models.JSONField(
        default=list,
        blank=True,
        help_text="What it was before, oldest first: until, kind, has_chemicals, runs_part_year",
    )

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=("premises", "kind", "name"), name="connection_once_per_premises"
            )
        ]

    def __str__(self) -> str:
        return f"{self.kind or 'service'} at {self.premises}"


class Assembly(models.Model):
    """One installed backflow preventer, known by program, maker and serial."""

    program = models.ForeignKey(Program, on_delete=models.CASCADE, related_name="assemblies")
    premises = models.ForeignKey(Premises, on_delete=models.CASCADE, related_name="assemblies")
    connection = models.ForeignKey(
        ServiceConnection, on_delete=models.PROTECT, related_name="assemblies"
    )
    type = models.CharField(max_length=10, choices=choices_of(AssemblyType))
    maker = models.CharField(max_length=120, blank=True, default="")
    model = models.CharField(max_length=120, blank=True, default="")
    serial = models.CharField(max_length=120)
    serial_is_ours = models.BooleanField(
        default=False, help_text="No serial on record: the number is one of ours."
    )
    maker_key = models.CharField(max_length=120, blank=True, default="")
    serial_key = models.CharField(max_length=120)
    size_in = models.DecimalField(max_digits=6, decimal_places=3, help_text="Nominal size, inches")
    location = models.CharField(max_length=300, blank=True, default="")
    protects = models.CharField(
        max_length=20, choices=choices_of(Protects), default=Protects.CONTAINMENT.value
    )
    hazard = models.CharField(
        max_length=20,
        choices=choices_of(Hazard),
        default=Hazard.NOT_ASSESSED.value,
        help_text="The latest assessment, kept here for reading",
    )
    notes = models.TextField(blank=True, default="")
    in_vault = models.BooleanField(default=False)
    permit_space = models.BooleanField(
        null=True,
        blank=True,
        help_text="A confined space that asks for a permit: two people; empty: nobody judged it",
    )
    has_twin = models.BooleanField(
        default=False,
        db_default=False,
        help_text="A second one stands in parallel, so that the water need not go off",
    )
    replaced_by = models.ForeignKey(
        "self", null=True, blank=True, on_delete=models.SET_NULL, related_name="replaces"
    )
    created_at = models.DateTimeField()
    was = models.JSONField(
        null=True,
        blank=True,
        default=None,
        help_text="What it was before changes that hold from a day on, oldest first: until, "
        "recorded_at, type, protects, service, has_chemicals, runs_part_year",
    )

    class Meta:
        ordering = ("serial", "id")
        verbose_name_plural = "assemblies"
        constraints = [
            models.UniqueConstraint(
                fields=("program", "maker_key", "serial_key"), name="assembly_once_per_program"
            )
        ]
        indexes = [
            models.Index(fields=("program", "serial_key"), name="assembly_by_serial"),
            models.Index(fields=("program", "type", "hazard"), name="assembly_by_type"),
        ]

    def __str__(self) -> str:
        return f"{self.serial}, {self.type}"


class HazardAssessment(models.Model):
    """Dated finding of the degree of hazard, for one assembly or a whole premises."""

    premises = models.ForeignKey(Premises, on_delete=models.CASCADE, related_name="assessments")
    assembly = models.ForeignKey(
        Assembly, null=True, blank=True, on_delete=models.CASCADE, related_name="assessments"
    )
    assessed_on = models.DateField()
    hazard = models.CharField(max_length=20, choices=choices_of(Hazard))
    asks_for = models.CharField(max_length=120, blank=True, default="")
    finding = models.TextField(blank=True, default="")
    is_stated = models.BooleanField(
        default=False,
        db_default=False,
        help_text="As a file says; nobody surveyed the premises that day",
    )
    recorded_at = models.DateTimeField()
    by = models.CharField(max_length=150, blank=True, default="")

    class Meta:
        ordering = ("assessed_on", "id")
        indexes = [models.Index(fields=("recorded_at",), name="finding_by_moment")]

    def __str__(self) -> str:
        return f"{self.hazard} hazard, {self.assessed_on}"
