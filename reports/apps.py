"""How Django finds the app reports, and what it does after each wake-up of the office's clock."""

from django.apps import AppConfig


class ReportsConfig(AppConfig):
    """The app reports."""

    default_auto_field = "django.db.models.BigAutoField"
    name = "reports"

    def ready(self) -> None:
        """Let the ledger be sealed by the office's clock, once a day for each program."""
        from notices import tasks  # noqa: PLC0415 - models are not there before
        from reports.ledger.nightly import seal_all  # noqa: PLC0415

        if seal_all not in tasks.AFTER_WAKE:
            tasks.AFTER_WAKE.append(seal_all)
