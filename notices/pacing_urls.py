"""Addresses of how an office paces its letters: order, holds, quiet days, gathering, samples."""

from django.urls import URLPattern, URLResolver, path

from notices.views import living, pacing, receipts, samples, waiting

_P = "p/<slug:code>/"

urlpatterns: list[URLPattern | URLResolver] = [
    path(f"{_P}live-on/", living.live_on, name="live-on"),
    path(f"{_P}live-on/to/", living.live_on_to, name="live-on-to"),
    path(
        f"{_P}deliveries/<int:pk>/delivered/",
        receipts.delivery_delivered,
        name="delivery-delivered",
    ),
    path(f"{_P}letters/sample/", samples.letters_sample, name="letters-sample"),
    path(
        f"{_P}letters/sample/release/",
        samples.letters_sample_release,
        name="letters-sample-release",
    ),
    path(f"{_P}letters/waiting/", waiting.letters_waiting, name="letters-waiting"),
    path(f"{_P}letters/waiting/figure/", waiting.letters_figure, name="letters-figure"),
    path(f"{_P}letters/waiting/move/", waiting.letters_move, name="letters-move"),
    path(
        f"{_P}letters/waiting/moves/<int:pk>/back/",
        waiting.letters_move_back,
        name="letters-move-back",
    ),
    path(f"{_P}letters/pace/", pacing.letters_pace, name="letters-pace"),
    path(f"{_P}letters/pace/hold/", pacing.letters_hold, name="letters-hold"),
    path(f"{_P}letters/pace/hold/end/", pacing.letters_hold_end, name="letters-hold-end"),
    path(f"{_P}letters/pace/quiet/", pacing.quiet_add, name="quiet-add"),
    path(f"{_P}letters/pace/quiet/<int:pk>/drop/", pacing.quiet_drop, name="quiet-drop"),
    path(f"{_P}letters/gathering/<int:pk>/", pacing.letter_gathering, name="letter-gathering"),
]
