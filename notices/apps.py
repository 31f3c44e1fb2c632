"""How Django finds the app notices."""

from django.apps import AppConfig


class NoticesConfig(AppConfig):
    """The app notices."""

    default_auto_field = "django.db.models.BigAutoField"
    name = "notices"
