"""What the owner's page says of an order to shut off water, until water is back."""

from __future__ import annotations

from collections.abc import Sequence

from notices.domain.briefs import Words
from notices.domain.long_dates import long_date
from notices.domain.shutoffs import LIVE_SHUTOFFS, ShutoffState
from notices.domain.wording import N_
from notices.models import Shutoff

# How water comes back is said before it goes off and while it is off (Memphis Light v. Craft,
# syllabus: the customer is told how a matter is set right).
_SAID = {
    ShutoffState.SIGNED: N_(
        "On %(date)s this office ordered the water at %(place)s shut off. It is still on. "
        "Call us today."
    ),
    ShutoffState.OFF: N_(
        "The water at %(place)s is shut off, by an order of %(date)s. Call us about turning it "
        "back on."
    ),
    ShutoffState.PROVED: N_(
        "The water at %(place)s is to come back. A person from this office opens it; leave the "
        "valve alone."
    ),
}


def water_off(premises: Sequence[int], *, words: Words, language: str) -> tuple[str, ...]:
    """Return a sentence for each of these premises whose water is ordered off or is off."""
    live = Shutoff.objects.filter(
        premises__in=premises, state__in=[state.value for state in LIVE_SHUTOFFS]
    ).select_related("premises")
    return tuple(
        words.gettext(_SAID[ShutoffState(one.state)])
        % {
            "date": long_date(one.signed_on, language=language),
            "place": one.premises.address or one.premises.name,
        }
        for one in live.order_by("premises__address", "pk")
    )
