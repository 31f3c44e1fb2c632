"""A form of the purveyor's own: a fillable PDF or a CSV, and which of our fields goes where."""

from __future__ import annotations

from django.db import models

from registry.models import Firm, Program


class OwnForm(models.Model):
    """A form taken in once; `firm` is the testing company that fills it, none for the office."""

    program = models.ForeignKey(Program, on_delete=models.CASCADE, related_name="own_forms")
    firm = models.ForeignKey(
        Firm, null=True, blank=True, on_delete=models.CASCADE, related_name="own_forms"
    )
    name = models.CharField(max_length=120)
    kind = models.CharField(max_length=10, help_text="pdf or csv")
    file_name = models.CharField(max_length=200, blank=True, default="")
    content = models.BinaryField(help_text="As it came")
    sha256 = models.CharField(max_length=64)
    blanks = models.JSONField(default=list, help_text="The form's own fields, in its order")
    mapping = models.JSONField(default=dict, help_text="By the form's field: ours, or fixed words")
    date_style = models.CharField(max_length=20, default="month/day/year")
    made_at = models.DateTimeField()
    by = models.CharField(max_length=150, blank=True, default="")

    class Meta:
        ordering = ("name", "id")
        constraints = [
            models.UniqueConstraint(
                fields=("program", "firm", "name"),
                condition=models.Q(firm__isnull=False),
                name="own_form_of_firm_once",
            ),
            models.UniqueConstraint(
                fields=("program", "name"),
                condition=models.Q(firm__isnull=True),
                name="own_form_of_office_once",
            ),
        ]

    def __str__(self) -> str:
        return self.name
