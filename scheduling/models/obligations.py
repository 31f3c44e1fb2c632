"""Obligations with their dates, and where each assembly stands, kept as dates only."""

from __future__ import annotations

from django.db import models

from registry.models import Assembly, Premises, Program, ServiceConnection
from scheduling.models.rulebooks import Rulebook
from scheduling.models.subjects import one_subject


def _once_of(subject: str) -> tuple[models.UniqueConstraint, models.UniqueConstraint]:
    """Return what keeps the obligations of a service or a premises apart, as of an assembly."""
    is_its = {f"{subject}__isnull": False}
    return (
        models.UniqueConstraint(
            fields=(subject, "kind", "origin", "period"),
            condition=models.Q(**is_its),
            name=f"obligation_once_of_{subject}",
        ),
        models.UniqueConstraint(
            fields=(subject, "kind"),
            condition=models.Q(**is_its, opened_on__isnull=False, closed_on__isnull=True),
            name=f"one_open_of_{subject}",
        ),
    )


class Obligation(models.Model):
    """One work owed by one date, of an assembly, a service connection or a premises.

    `due_on` is the law's date; `target_on` makes nobody overdue.
    """

    program = models.ForeignKey(Program, on_delete=models.CASCADE, related_name="obligations")
    assembly = models.ForeignKey(
        Assembly, null=True, blank=True, on_delete=models.CASCADE, related_name="obligations"
    )
    connection = models.ForeignKey(
        ServiceConnection,
        null=True,
        blank=True,
        on_delete=models.CASCADE,
        related_name="obligations",
        db_index=False,
        help_text="The service of which protection is owed",
    )
    premises = models.ForeignKey(
        Premises,
        null=True,
        blank=True,
        on_delete=models.CASCADE,
        related_name="obligations",
        db_index=False,
        help_text="The premises of which a survey is owed",
    )
    kind = models.CharField(max_length=30, default="test")
    origin = models.CharField(max_length=40, help_text="What it springs from, fixed when it opens")
    period = models.CharField(max_length=40, blank=True, default="")
    opens_on = models.DateField()
    due_on = models.DateField()
    target_on = models.DateField(null=True, blank=True)
    failed_on = models.DateField(null=True, blank=True, help_text="First uncured failure")
    cure_by = models.DateField(null=True, blank=True)
    held_until = models.DateField(null=True, blank=True)
    opened_on = models.DateField(
        null=True, blank=True, help_text="The day a run recorded it as open; empty while coming"
    )
    closed_on = models.DateField(null=True, blank=True)
    closed_how = models.CharField(max_length=20, blank=True, default="")
    successor = models.ForeignKey(
        "self", null=True, blank=True, on_delete=models.SET_NULL, related_name="predecessors"
    )
    rulebook = models.ForeignKey(Rulebook, on_delete=models.PROTECT, related_name="obligations")
    rule = models.CharField(max_length=80, blank=True, default="")
    prompts = models.JSONField(
        default=list, help_text="ISO dates of the events that opened it or moved it earlier"
    )
    detail = models.JSONField(default=dict, help_text="What the ladder and the reasons need")
    next_action_on = models.DateField(
        null=True, blank=True, help_text="When a run looks at it next; empty: nothing is to come"
    )
    lawful_since = models.DateField(
        null=True, blank=True, help_text="A new responsible party restarts the lawful part here"
    )
    likeness = models.CharField(
        max_length=220,
        blank=True,
        default="",
        db_default="",
        help_text="What it shares with those of which the last pass alone counts; empty: more does",
    )
    rounds = models.IntegerField(
        null=True,
        blank=True,
        help_text="A bit for each of the last rounds, newest lowest, set where it had failed",
    )
    updated_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ("due_on", "id")
        constraints = [
            models.UniqueConstraint(
                fields=("assembly", "kind", "origin", "period"), name="obligation_once"
            ),
            models.UniqueConstraint(
                fields=("assembly", "kind"),
                condition=models.Q(opened_on__isnull=False, closed_on__isnull=True),
                name="one_open_obligation",
            ),
            models.CheckConstraint(condition=one_subject(), name="obligation_of_one_subject"),
            *_once_of("connection"),
            *_once_of("premises"),
        ]
        indexes = [
            models.Index(
                fields=("program", "opens_on"),
                condition=models.Q(opened_on__isnull=True, closed_on__isnull=True),
                name="obligation_to_open",
            ),
            models.Index(
                fields=("program", "next_action_on"),
                condition=models.Q(opened_on__isnull=False, closed_on__isnull=True),
                name="obligation_to_act_on",
            ),
            models.Index(
                fields=("program", "due_on", "id"),
                condition=models.Q(closed_on__isnull=True),
                name="obligation_by_due",
            ),
            models.Index(
                fields=("program", "due_on", "id"),
                condition=models.Q(assembly__isnull=True, closed_on__isnull=True),
                name="obligation_of_places",
            ),
            models.Index(
                fields=("program", "assembly"),
                condition=models.Q(closed_on__isnull=True, likeness=""),
                name="obligation_of_histories",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.kind} due {self.due_on}"

    @property
    def its_assembly(self) -> Assembly:
        """The assembly it is about. Raises ValueError where it is about no assembly."""
        if self.assembly is None:
            raise ValueError(f"Obligation {self.pk} is of no assembly.")
        return self.assembly

    @property
    def its_assembly_id(self) -> int:
        """The id of the assembly it is about. Raises ValueError where it is about none."""
        if self.assembly_id is None:
            raise ValueError(f"Obligation {self.pk} is of no assembly.")
        return self.assembly_id

    @property
    def where(self) -> Premises:
        """The premises it is about, or where its assembly or service is."""
        if self.premises is not None:
            return self.premises
        if self.connection is not None:
            return self.connection.premises
        return self.its_assembly.premises


class AssemblyState(models.Model):
    """What replay found, as dates: the name of a standing follows by comparison with a day."""

    assembly = models.OneToOneField(
        Assembly, primary_key=True, on_delete=models.CASCADE, related_name="state"
    )
    program = models.ForeignKey(Program, on_delete=models.CASCADE, related_name="states")
    installed_on = models.DateField(null=True, blank=True)
    last_passed_on = models.DateField(null=True, blank=True)
    removed_on = models.DateField(null=True, blank=True)
    idle_since = models.DateField(null=True, blank=True)
    is_exempt = models.BooleanField(default=False)
    failed_on = models.DateField(null=True, blank=True)
    opens_on = models.DateField(null=True, blank=True)
    due_on = models.DateField(null=True, blank=True)
    cure_by = models.DateField(null=True, blank=True)
    likeness = models.CharField(
        max_length=220,
        blank=True,
        default="",
        db_default="",
        help_text="The likeness of what is owed of it",
    )
    counted_as = models.CharField(
        max_length=70,
        blank=True,
        default="",
        db_default="",
        help_text='"type|hazard|service" under which the standing board counts it',
    )
    replayed_as_of = models.DateField()
    replayed_at = models.DateTimeField()

    class Meta:
        indexes = [
            models.Index(fields=("program", "due_on", "assembly"), name="state_by_due"),
            models.Index(
                fields=("program", "failed_on"),
                condition=models.Q(failed_on__isnull=False),
                name="state_failed",
            ),
        ]

    def __str__(self) -> str:
        return f"state of {self.assembly_id}"
