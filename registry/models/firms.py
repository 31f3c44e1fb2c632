"""Testing companies, their testers and gauges, and what programs accept of them."""

from __future__ import annotations

from django.db import models

from registry.models.premises import Premises
from registry.models.programs import Program


class Firm(models.Model):
    """A testing contractor: the other kind of tenant; it may work for several programs."""

    name = models.CharField(max_length=200)
    key = models.CharField(max_length=200, unique=True, help_text="The name, normalised")
    phone = models.CharField(max_length=60, blank=True, default="")
    email = models.CharField(max_length=254, blank=True, default="")
    address = models.CharField(max_length=300, blank=True, default="", db_default="")
    city = models.CharField(max_length=120, blank=True, default="", db_default="")
    state = models.CharField(max_length=40, blank=True, default="", db_default="")
    zip = models.CharField(max_length=20, blank=True, default="", db_default="")
    language = models.CharField(max_length=10, default="en", db_default="en")
    own_program = models.OneToOneField(
        Program, null=True, blank=True, on_delete=models.SET_NULL, related_name="own_firm"
    )
    lunch_minutes = models.PositiveSmallIntegerField(
        null=True, blank=True, help_text="Lunch of its testers; empty: none is planned"
    )
    lunch_from = models.TimeField(null=True, blank=True, help_text="Lunch begins no sooner")
    lunch_to = models.TimeField(null=True, blank=True, help_text="Lunch is over by then")

    class Meta:
        ordering = ("name",)

    def __str__(self) -> str:
        return self.name


class Tester(models.Model):
    """Who tests; known by the certificate number."""

    firm = models.ForeignKey(Firm, on_delete=models.CASCADE, related_name="testers")
    certificate = models.CharField(max_length=60)
    name = models.CharField(max_length=200, blank=True, default="")
    depot_lat = models.DecimalField(max_digits=9, decimal_places=6, null=True, blank=True)
    depot_lon = models.DecimalField(max_digits=9, decimal_places=6, null=True, blank=True)
    hours = models.JSONField(
        default=dict, blank=True, help_text='Weekday 0 (Monday) to 6: [["08:00", "16:30"]]'
    )
    days_off = models.JSONField(default=list, blank=True, help_text="ISO dates")
    skills = models.JSONField(default=list, blank=True)
    lunch_minutes = models.PositiveSmallIntegerField(
        null=True, blank=True, help_text="Empty: as the testing company has it; 0: none"
    )
    lunch_from = models.TimeField(null=True, blank=True, help_text="Lunch begins no sooner")
    lunch_to = models.TimeField(null=True, blank=True, help_text="Lunch is over by then")
    most_visits = models.PositiveSmallIntegerField(
        null=True, blank=True, help_text="Most visits in a day; empty: as many as fit"
    )
    van_places = models.PositiveSmallIntegerField(
        null=True, blank=True, help_text="Assemblies whose parts the van holds; empty: enough"
    )

    class Meta:
        ordering = ("certificate",)
        constraints = [
            models.UniqueConstraint(fields=("firm", "certificate"), name="tester_once_per_firm")
        ]

    def __str__(self) -> str:
        return f"{self.name or 'tester'}, {self.certificate}"


class Certification(models.Model):
    """One term of a tester's certificate, as a program (or the firm itself) recorded it."""

    tester = models.ForeignKey(Tester, on_delete=models.CASCADE, related_name="certifications")
    program = models.ForeignKey(
        Program, null=True, blank=True, on_delete=models.CASCADE, related_name="certifications"
    )
    number = models.CharField(
        max_length=60, blank=True, default="", help_text="Empty: the tester's own number"
    )
    issued_by = models.CharField(max_length=120, blank=True, default="")
    classes = models.CharField(
        max_length=120, blank=True, default="", help_text="Types it covers; empty: every type"
    )
    valid_from = models.DateField()
    valid_to = models.DateField()
    ended_on = models.DateField(
        null=True, blank=True, help_text="From this day on it does not hold: withdrawn, shortened"
    )
    ended_why = models.CharField(max_length=300, blank=True, default="")

    class Meta:
        ordering = ("valid_from", "id")
        constraints = [
            models.UniqueConstraint(
                fields=("tester", "program", "valid_from", "valid_to"),
                name="certificate_term_once",
            )
        ]

    def __str__(self) -> str:
        return f"{self.tester}: {self.valid_from} to {self.valid_to}"


class Gauge(models.Model):
    """The trade's test kit, known by firm and serial."""

    firm = models.ForeignKey(Firm, on_delete=models.CASCADE, related_name="gauges")
    serial = models.CharField(max_length=60)
    serial_key = models.CharField(max_length=60)

    class Meta:
        ordering = ("serial",)
        constraints = [
            models.UniqueConstraint(fields=("firm", "serial_key"), name="gauge_once_per_firm")
        ]

    def __str__(self) -> str:
        return self.serial


class Calibration(models.Model):
    """One calibration of a gauge; every one is kept."""

    gauge = models.ForeignKey(Gauge, on_delete=models.CASCADE, related_name="calibrations")
    program = models.ForeignKey(
        Program, null=True, blank=True, on_delete=models.CASCADE, related_name="calibrations"
    )
    calibrated_on = models.DateField()
    as_found_error_psid = models.DecimalField(
        max_digits=5, decimal_places=2, null=True, blank=True, help_text="Before adjustment"
    )
    certificate_name = models.CharField(max_length=200, blank=True, default="")
    certificate_sha256 = models.CharField(max_length=64, blank=True, default="")
    certificate = models.BinaryField(null=True, blank=True, help_text="PDF, JPEG or PNG")
    struck_at = models.DateTimeField(null=True, blank=True, help_text="Found to be wrong")
    struck_why = models.CharField(max_length=300, blank=True, default="")

    class Meta:
        ordering = ("calibrated_on", "id")
        constraints = [
            models.UniqueConstraint(
                fields=("gauge", "program", "calibrated_on"), name="calibration_once"
            )
        ]

    def __str__(self) -> str:
        return f"{self.gauge}, {self.calibrated_on}"


class Approval(models.Model):
    """A program's dated acceptance of a firm, one of its testers or one of its gauges."""

    program = models.ForeignKey(Program, on_delete=models.CASCADE, related_name="approvals")
    firm = models.ForeignKey(Firm, on_delete=models.CASCADE, related_name="approvals")
    tester = models.ForeignKey(
        Tester, null=True, blank=True, on_delete=models.CASCADE, related_name="approvals"
    )
    gauge = models.ForeignKey(
        Gauge, null=True, blank=True, on_delete=models.CASCADE, related_name="approvals"
    )
    valid_from = models.DateField()
    valid_to = models.DateField(null=True, blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=("program", "firm"),
                condition=models.Q(tester__isnull=True, gauge__isnull=True),
                name="firm_approved_once",
            ),
            models.UniqueConstraint(
                fields=("program", "tester"),
                condition=models.Q(tester__isnull=False),
                name="tester_approved_once",
            ),
            models.UniqueConstraint(
                fields=("program", "gauge"),
                condition=models.Q(gauge__isnull=False),
                name="gauge_approved_once",
            ),
            models.CheckConstraint(
                condition=models.Q(tester__isnull=True) | models.Q(gauge__isnull=True),
                name="approval_of_one_thing",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.program} accepts {self.tester or self.gauge or self.firm}"


class Assignment(models.Model):
    """What lets a firm see a premises of a program, and only what testing needs."""

    program = models.ForeignKey(Program, on_delete=models.CASCADE, related_name="assignments")
    firm = models.ForeignKey(Firm, on_delete=models.CASCADE, related_name="assignments")
    premises = models.ForeignKey(Premises, on_delete=models.CASCADE, related_name="assignments")
    made_on = models.DateField()
    ended_on = models.DateField(null=True, blank=True)
    how = models.CharField(max_length=60, blank=True, default="")

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=("firm", "premises"),
                condition=models.Q(ended_on__isnull=True),
                name="one_running_assignment",
            )
        ]

    def __str__(self) -> str:
        return f"{self.firm} at {self.premises}"
