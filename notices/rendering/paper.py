"""The measures of the letter's paper, in points; y counts from the top edge.

US Letter folded in three for a #10 envelope with one window, derived for the
worst slip of the sheet. Measure the envelopes the office buys.
"""

from __future__ import annotations

from dataclasses import dataclass


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
