"""A program: one purveyor's cross-connection control program, the owner of registry and letters."""

from __future__ import annotations

from django.db import models

from registry.domain.kinds import DateOrder, ProgramKind
from registry.models.choices import choices_of


class Program(models.Model):
    """One kind of tenant; every row of a registry belongs to exactly one program."""

    code = models.SlugField(max_length=60, unique=True)
    name = models.CharField(max_length=200)
    kind = models.CharField(
        max_length=20, choices=choices_of(ProgramKind), default=ProgramKind.PURVEYOR.value
    )
    zone = models.CharField(max_length=60, default="UTC")
    date_order = models.CharField(
        max_length=20, choices=choices_of(DateOrder), default=DateOrder.MONTH_FIRST.value
    )
    state = models.CharField(max_length=2, blank=True, default="")
    is_trial = models.BooleanField(
        default=False, help_text="A trial lives on any day; its letters reach nobody."
    )
    go_live_on = models.DateField(null=True, blank=True)
    letters_a_day = models.PositiveIntegerField(null=True, blank=True)
    letters_held_until = models.DateField(
        null=True, blank=True, help_text="The last day of a hold on all letters; its row says why"
    )
    letterhead = models.JSONField(
        default=dict, blank=True, help_text="name, lines, phone, email, hours, web"
    )
    contacts = models.JSONField(default=dict, blank=True)
    languages = models.CharField(max_length=20, default="en")
    created_at = models.DateTimeField()

    class Meta:
        ordering = ("code",)

    def __str__(self) -> str:
        return self.name
