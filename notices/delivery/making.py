"""Makes the deliveries of letters that may go: one for each channel their rungs ask for."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from django.conf import settings

from notices.delivery.stops import stopped
from notices.domain.deliveries import Way, ways_of
from notices.domain.kinds import COURTESY_KINDS, Channel
from notices.links import message_id_of
from notices.models import Delivery, Letter
from registry.domain.emails import read_email
from registry.models import Firm, Party, Program


def deliveries_for(letters: Sequence[Letter], *, program: Program) -> list[Delivery]:
    """Return the deliveries of these letters, unsaved; each letter has all its channels."""
    addresses = _addresses(letters)
    stops = {
        is_courtesy: stopped(program, addresses=set(addresses.values()), is_courtesy=is_courtesy)
        for is_courtesy in (True, False)
    }
    made: list[Delivery] = []
    for letter in letters:
        address = addresses.get(_whose(letter), "")
        stop = stops[letter.kind in COURTESY_KINDS].get(address.lower(), "")
        ways = ways_of(
            channel=letter.channel,
            also_by=letter.also_by,
            has_address=bool(address),
            why_no_mail=why_no_mail() or stop,
        )
        made += (_delivery(letter, way=way, address=address, code=program.code) for way in ways)
    return made


def why_no_mail() -> str:
    """Say why nothing goes by e-mail here, or nothing."""
    return "" if settings.MAIL_IS_SET_UP else "No mail server is set up."


def _delivery(letter: Letter, *, way: Way, address: str, code: str) -> Delivery:
    is_mail = way.channel == Channel.EMAIL
    return Delivery(
        letter=letter,
        channel=way.channel,
        detail=way.detail,
        address=address if is_mail else "",
        message_id=message_id_of(program_code=code, number=letter.number) if is_mail else "",
    )


def _whose(letter: Letter) -> str:
    """The key of the party or the testing company whose address a letter takes."""
    return f"party:{letter.recipient_id}" if letter.recipient_id else letter.recipient_key


def _addresses(letters: Iterable[Letter]) -> dict[str, str]:
    """The e-mail address of each recipient for whom a letter asks for one, by its key."""
    asked = {_whose(one) for one in letters if Channel.EMAIL in (one.channel, *one.also_by)}
    found: dict[str, str] = {}
    for kind, rows in (("party", Party.objects.all()), ("firm", Firm.objects.all())):
        ids = [int(key.partition(":")[2]) for key in asked if key.startswith(f"{kind}:")]
        if ids:
            for pk, email in rows.filter(pk__in=ids).values_list("pk", "email"):
                found[f"{kind}:{pk}"] = read_email(email).value
    return found
