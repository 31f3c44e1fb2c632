"""What is found out later about a tester or a gauge, and what it says of tests done before."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

MOST_ERROR_PSID = Decimal("0.2")
ERROR_CITATION = "± 0.2 psid: one water company's guide"
"""How far off a gauge may be found at its calibration (read in one guide; local code decides)."""


def is_off(error_psid: Decimal | None) -> bool:
    """Whether an as-found error is more than is held acceptable; 0.2 psid itself is."""
    return error_psid is not None and abs(error_psid) > MOST_ERROR_PSID


def gauge_doubt(*, serial: str, calibrated_on: date, error_psid: Decimal) -> str:
    """What to say of a test done with a gauge that its next calibration found to be off.

    A gauge found 0.3 psid off on 2 February makes the tests since its calibration before
    doubtful: a reading near its limit may have been on the other side.
    """
    return (
        f"Gauge {serial} was found {error_psid:+f} psid off at its calibration of {calibrated_on},"
        f" before adjustment ({ERROR_CITATION})."
    )
