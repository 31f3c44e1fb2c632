"""A state is a silhouette with its word beside it; the silhouette comes from one sprite."""

from __future__ import annotations

from django import template
from django.templatetags.static import static
from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString

register = template.Library()

STEPS = 6
_RUNG_TOP = 3.6
_RUNG_PITCH = 3.1


@register.simple_tag
def mark(name: str, size: str = "") -> SafeString:
    """The silhouette alone, hidden from screen readers: the word stands in the text."""
    return format_html(
        '<svg class="mark{}" aria-hidden="true"><use href="{}#{}"></use></svg>',
        f" {size}" if size else "",
        static("waterclerk/marks.svg"),
        name,
    )


@register.simple_tag
def stands(standing: str, word: str = "") -> SafeString:
    """A standing or verdict: mark, then word, in its tone."""
    name = str(standing).replace(" ", "-")
    return format_html(
        '<span class="stands {}">{}<span>{}</span></span>',
        name,
        mark(name),
        word or str(standing).replace("-", " ").capitalize(),
    )


@register.simple_tag
def rung_mark(left: int, owed: int = 0) -> SafeString:
    """Two rails and six rungs: those that left are heavy, the one owed or prepared is hollow."""
    steps = format_html_join("", "{}", ((_step(number, left, owed),) for number in range(1, 7)))
    return format_html(
        '<svg class="rung" viewBox="0 0 18 22" aria-hidden="true">'
        '<path class="rail" d="M2.500 1v20M15.500 1v20"/>{}</svg>',
        steps,
    )


def _step(number: int, left: int, owed: int) -> SafeString:
    y = _RUNG_TOP + (STEPS - number) * _RUNG_PITCH
    if number == owed:
        return format_html('<path class="owed" d="M3.5 {}h11v-2h-11z"/>', f"{y + 1:.1f}")
    return format_html(
        '<path class="{}" d="M2.5 {}h13"/>', "left" if number <= left else "step", f"{y:.1f}"
    )
