"""How Django finds the app reports."""

from django.apps import AppConfig


class ReportsConfig(AppConfig):
    """The app reports."""

    default_auto_field = "django.db.models.BigAutoField"
    name = "reports"
