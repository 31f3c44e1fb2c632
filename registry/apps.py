"""How Django finds the app registry."""

from django.apps import AppConfig


class RegistryConfig(AppConfig):
    """The app registry."""

    default_auto_field = "django.db.models.BigAutoField"
    name = "registry"
