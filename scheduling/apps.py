"""How Django finds the app scheduling."""

from django.apps import AppConfig


class SchedulingConfig(AppConfig):
    """The app scheduling."""

    default_auto_field = "django.db.models.BigAutoField"
    name = "scheduling"
