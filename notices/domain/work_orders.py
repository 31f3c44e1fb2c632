"""What a work order says to the field crew: where, what, which valve, cautions, who signed."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import asdict, dataclass
from datetime import date
from typing import Any

from notices.domain.kinds import FireLine
from notices.domain.long_dates import long_date
from notices.domain.shutoffs import WorkOrderKind


@dataclass(frozen=True, slots=True, kw_only=True)
class WorkBrief:
    """What is known of one service on the day a work order is made."""

    kind: WorkOrderKind
    number: int
    office: str
    reached: str
    for_on: date
    premises: str
    address: str
    account: str
    access: str
    phone: str
    service: str
    assemblies: tuple[tuple[str, ...], ...]
    """Serial, type, size, place of each on this service."""

    fire: FireLine
    fire_answer: str
    medical: str
    has_tenants: bool
    behind: tuple[str, ...]
    in_vault: bool
    order: str
    ground: str
    signed: tuple[str, ...]
    evidence: str
    is_emergency: bool
    proof: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class WorkSheet:
    """A work order in words, decided before it is drawn, and kept with it."""

    office: str
    title: str
    act: str
    facts: tuple[tuple[str, str], ...]
    assemblies: tuple[tuple[str, ...], ...]
    before: tuple[str, ...]
    cautions: tuple[str, ...]
    blanks: tuple[tuple[str, str], ...]
    foot: str

    def to_plain(self) -> dict[str, Any]:
        """Return it as what JSON holds."""
        return asdict(self)


def work_sheet(brief: WorkBrief) -> WorkSheet:
    """Return the paper of a work order."""
    is_off = brief.kind is WorkOrderKind.OFF
    return WorkSheet(
        office=brief.office,
        title=f"Work order {brief.number}: {brief.kind}",
        act=(
            "Shut off the one service named here, and nothing else."
            if is_off
            else "Open the one service named here, slowly."
        ),
        facts=tuple(_facts(brief)),
        assemblies=brief.assemblies,
        before=tuple(_before(brief) if is_off else _before_opening(brief)),
        cautions=tuple(_cautions(brief)),
        blanks=_BLANKS_OFF if is_off else _BLANKS_ON,
        foot=f"Work order {brief.number}, {brief.premises or brief.address}",
    )


_BLANKS_OFF = (
    ("Arrived (date, time)", "Water off at (time)"),
    ("Spoke with", "Meter reading"),
    ("Valve closed, tag or lock no.", "Remarks"),
    ("Name of the crew", "Signature"),
)
_BLANKS_ON = (
    ("Arrived (date, time)", "Water on at (time)"),
    ("Spoke with; who stays there", "Meter reading; does it stand still?"),
    ("Valve opened, tag or lock off", "Remarks"),
    ("Name of the crew", "Signature"),
)


def _facts(brief: WorkBrief) -> Iterator[tuple[str, str]]:
    if brief.kind is WorkOrderKind.OFF:
        on = (
            f"Today, at once: {long_date(brief.for_on)}"
            if brief.is_emergency
            else (
                f"On {long_date(brief.for_on)}, and on no other day. If that cannot be, bring this "
                "paper back: the office names another day."
            )
        )
        yield ("When", on)
    else:
        yield ("When", f"From {long_date(brief.for_on)} on, as soon as can be")
    account = f"account {brief.account}" if brief.account else ""
    yield ("Where", ", ".join(filter(None, (brief.premises, brief.address, account))))
    yield ("Service", brief.service)
    yield (
        "Valve",
        (
            "The stop on this service outside the building. The valves of a backflow assembly "
            "are not used for it. Is it not clear which stop it is? Close none, and call."
        ),
    )
    if access := "; ".join(filter(None, (brief.access, brief.phone))):
        yield ("Access", access)
    yield ("Order", f"{brief.order}. Evidence: SHA-256 {brief.evidence[:16]}\u2026")
    if brief.ground:
        yield ("Ground", brief.ground)
    yield ("Signed", "; ".join(brief.signed))
    if brief.proof:
        yield ("Why back", brief.proof)
    yield ("Office", brief.reached)


def _before(brief: WorkBrief) -> Iterator[str]:
    yield "Call the office first: a test may have passed since this was printed."
    yield "Knock, and say what you are about to do. Leave word where nobody answers."
    yield (
        "Do nothing, and call the office, if anything is not as it stands here: sprinklers or a "
        "fire pump on this service, somebody at home who needs the water for treatment, another "
        "building or a neighbour behind it, a paper or a receipt of a passed test."
    )
    yield "Read the meter, then close the valve slowly."


def _before_opening(brief: WorkBrief) -> Iterator[str]:
    yield "Open only while somebody is there who sees to the taps inside."
    yield "Have all taps closed first; a running meter means an open tap or a leak: close again."
    yield "Open slowly, and let air out at a cold tap. Read the meter."
    if brief.fire is not FireLine.NONE:
        yield "Tell the fire department and the alarm company that water is back."


def _cautions(brief: WorkBrief) -> Iterator[str]:
    if brief.fire is not FireLine.NONE:
        yield (
            "FIRE: this service feeds sprinklers too. Tell the fire department, the alarm company "
            f"and the insurer before and after. Their answer: {brief.fire_answer or 'none'}"
        )
    if brief.medical:
        yield f"MEDICAL: water is needed here for treatment. Consent: {brief.medical}"
    if brief.has_tenants or brief.behind:
        names = "; ".join(brief.behind)
        yield "TENANTS: people besides the owner live or work here." + (
            f" {names}." if names else ""
        )
    if brief.in_vault:
        # 29 CFR 1910.146.
        yield (
            "VAULT: it can be a confined space. Only trained people enter, never alone, after the "
            "air is tested (29 CFR 1910.146)."
        )
    yield "Close and open slowly (water hammer); drained parts freeze. Hot water can scald."
    yield (
        "Local code decides whether and how water is shut; a licensed person does the work. "
        "Nothing on this paper replaces them."
    )
