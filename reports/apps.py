"""How Django finds the app reports, and what it does after each wake-up of the office's clock."""

from django.apps import AppConfig


class ReportsConfig(AppConfig):
    """The app reports."""

    default_auto_field = "django.db.models.BigAutoField"
    name = "reports"

    def ready(self) -> None:
        """Let the ledger be sealed by the office's clock; hand down what letters ask of reports."""
        from notices import tasks  # noqa: PLC0415 - models are not there before
        from notices.actions import nightly  # noqa: PLC0415
        from notices.queries.reports_in_hand import hand_down  # noqa: PLC0415
        from reports.actions.lapse_letters import write_all  # noqa: PLC0415
        from reports.actions.mend_letters import tell_firms  # noqa: PLC0415
        from reports.ledger.nightly import seal_all  # noqa: PLC0415
        from reports.queries.reports_in_hand import READERS  # noqa: PLC0415

        for act in (write_all, seal_all):
            if act not in tasks.AFTER_WAKE:
                tasks.AFTER_WAKE.append(act)
        if tell_firms not in nightly.ALSO:
            nightly.ALSO.append(tell_firms)
        hand_down(READERS)
