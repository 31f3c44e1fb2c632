"""The measures of the letter's paper, in points; y counts from the top edge.

US Letter folded in three for a #10 envelope with one window, derived for the worst slip of the
sheet; for other envelopes the same is worked out from their figures.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cache

from notices.domain.envelopes import SHEETS, Envelope, envelope_of


@dataclass(frozen=True, slots=True, kw_only=True)
class Box:
    """A rectangle by its edges, y from the top."""

    left: float
    right: float
    top: float
    bottom: float

    def holds(self, other: Box) -> bool:
        """Say whether the other lies wholly inside."""
        return (
            self.left <= other.left
            and other.right <= self.right
            and self.top <= other.top
            and other.bottom <= self.bottom
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Paper:
    """Where everything stands on a sheet."""

    width: float
    height: float
    left: float
    right: float
    """Margins."""

    text_bottom: float
    """From the bottom edge."""

    letterhead_baselines: tuple[float, float]
    rules: tuple[float, float]
    rule_weights: tuple[float, float]
    fold_marks: tuple[float, ...]
    fold_mark_x: tuple[float, float]
    address_x: float
    address_first_baseline: float
    address_width: float
    reference_x: float
    reference_value_x: float
    reference_first_baseline: float
    text_top: float
    later_top: float
    foot_baseline: float
    window_sure: Box
    """Always seen through the window, however the sheet slips."""

    window_possible: Box
    """May be seen: nothing but the address stands here."""

    @property
    def text_width(self) -> float:
        """Width between the margins."""
        return self.width - self.left - self.right

    def from_top(self, y: float) -> float:
        """Turn a y counted from the top into PDF's, counted from the bottom."""
        return self.height - y


US_LETTER = Paper(
    width=612,
    height=792,
    left=67.5,
    right=63,
    text_bottom=51.8,
    letterhead_baselines=(44.6, 57.6),
    rules=(67, 69.5),
    rule_weights=(2.25, 0.6),
    fold_marks=(264, 528),
    fold_mark_x=(14.5, 27.5),
    address_x=67.5,
    address_first_baseline=189,
    address_width=245,
    reference_x=399.6,
    reference_value_x=455.6,
    reference_first_baseline=152.6,
    text_top=270.7,
    later_top=66,
    foot_baseline=755,
    window_sure=Box(left=63, right=315, top=180, bottom=228),
    window_possible=Box(left=0, right=387, top=147, bottom=261),
)

AFTER_FOLD_MM = 2.4
VALUES_WIDE = 93.4
"""Points that the values of the reference take, at the right margin."""


@cache
def paper_of(words: str) -> Paper:
    """Return the paper of an office by its envelope's words; without any US Letter in a #10.

    Raises EnvelopeRefusedError, a ValueError, where the words make no window.
    """
    return paper_for(envelope_of(words)) if words else US_LETTER


def paper_for(envelope: Envelope) -> Paper:
    """Return where everything stands so that the address shows, however the sheet slips."""
    width, height = (_pt(side) for side in SHEETS[envelope.sheet])
    sure, possible = _box(envelope.sure), _box(envelope.possible)
    left = US_LETTER.left
    address_x = max(left, sure.left + 4.5)
    value_x = width - US_LETTER.right - VALUES_WIDE
    fold = _pt(envelope.fold)
    return replace(
        US_LETTER,
        width=width,
        height=height,
        fold_marks=(fold, 2 * fold),
        address_x=address_x,
        address_first_baseline=sure.top + 9,
        address_width=min(US_LETTER.address_width, sure.right - address_x),
        reference_x=value_x - (US_LETTER.reference_value_x - US_LETTER.reference_x),
        reference_value_x=value_x,
        reference_first_baseline=possible.top + 5.6,
        text_top=max(fold, possible.bottom) + _pt(AFTER_FOLD_MM),
        foot_baseline=height - (US_LETTER.height - US_LETTER.foot_baseline),
        window_sure=sure,
        window_possible=possible,
    )


def _box(edges: tuple[float, float, float, float]) -> Box:
    left, right, top, bottom = (_pt(edge) for edge in edges)
    return Box(left=left, right=right, top=top, bottom=bottom)


def _pt(mm: float) -> float:
    return mm * 72 / 25.4
