"""A field test: a report kept whole as it came, its verdict, and whether it counts."""

from __future__ import annotations

from django.db import models

from registry.models import Assembly, Gauge, LoadBatch, Program, Tester
from scheduling.models import Fact


class FieldTest(models.Model):
    """One report; stored whether its assembly was found or not."""

    program = models.ForeignKey(Program, on_delete=models.CASCADE, related_name="field_tests")
    assembly = models.ForeignKey(
        Assembly, null=True, blank=True, on_delete=models.SET_NULL, related_name="field_tests"
    )
    digest = models.CharField(max_length=64, help_text="Of the report, normalised")
    serial = models.CharField(max_length=120, blank=True, default="")
    maker = models.CharField(max_length=120, blank=True, default="")
    tested_on = models.DateField()
    tested_at = models.TimeField(null=True, blank=True)
    tester = models.ForeignKey(
        Tester, null=True, blank=True, on_delete=models.SET_NULL, related_name="field_tests"
    )
    gauge = models.ForeignKey(
        Gauge, null=True, blank=True, on_delete=models.SET_NULL, related_name="field_tests"
    )
    tester_certificate = models.CharField(max_length=60, blank=True, default="")
    tester_name = models.CharField(max_length=200, blank=True, default="")
    gauge_serial = models.CharField(max_length=60, blank=True, default="")
    cells = models.JSONField(default=dict, help_text="The report as it came, by field")
    unit = models.CharField(max_length=10, default="psid")
    method = models.CharField(max_length=40)
    initial = models.JSONField(default=dict, help_text="Readings as found")
    repairs = models.TextField(blank=True, default="")
    final = models.JSONField(default=dict, blank=True, help_text="Readings after repair")
    declared = models.CharField(max_length=40, blank=True, default="")
    remarks = models.TextField(blank=True, default="")
    as_found = models.CharField(max_length=20, blank=True, default="")
    outcome = models.CharField(max_length=20, blank=True, default="")
    verdict = models.JSONField(default=dict, help_text="Criteria of both parts")
    counts = models.BooleanField(default=False)
    reasons = models.JSONField(default=list)
    warnings = models.JSONField(default=list)
    near = models.JSONField(default=list, help_text="Serials of the registry that come close")
    hindrance = models.CharField(
        max_length=60, blank=True, default="", help_text="Why it could not be tested"
    )
    later_doubts = models.JSONField(
        default=list, blank=True, help_text="What was found out after it had counted"
    )
    mends = models.ForeignKey(
        "self",
        null=True,
        blank=True,
        on_delete=models.SET_NULL,
        related_name="mended_by",
        help_text="The version of this report that it mends; both stay",
    )
    waits_for_person = models.BooleanField(default=False)
    decided_at = models.DateTimeField(null=True, blank=True)
    decided_by = models.CharField(max_length=150, blank=True, default="")
    decision = models.CharField(max_length=500, blank=True, default="")
    fact = models.ForeignKey(
        Fact, null=True, blank=True, on_delete=models.SET_NULL, related_name="field_tests"
    )
    batch = models.ForeignKey(
        LoadBatch, null=True, blank=True, on_delete=models.SET_NULL, related_name="field_tests"
    )
    recorded_at = models.DateTimeField()
    by = models.CharField(max_length=150, blank=True, default="")

    class Meta:
        ordering = ("-tested_on", "-id")
        constraints = [models.UniqueConstraint(fields=("program", "digest"), name="report_once")]
        indexes = [
            models.Index(fields=("assembly", "tested_on"), name="test_by_assembly"),
            models.Index(
                fields=("program", "recorded_at"),
                condition=models.Q(waits_for_person=True),
                name="test_waiting",
            ),
            models.Index(fields=("program", "tested_on", "id"), name="test_by_day"),
        ]

    def __str__(self) -> str:
        return f"{self.serial} on {self.tested_on}"
