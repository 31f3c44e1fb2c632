"""How Django finds the project's own checks, templates and commands."""

from django.apps import AppConfig


class ConfigConfig(AppConfig):
    """The project itself, as the top floor."""

    name = "config"
    label = "house"
    verbose_name = "Waterclerk"

    def ready(self) -> None:
        """Register the system checks of the settings."""
        from config import checks  # noqa: F401, PLC0415  (registers on import)
