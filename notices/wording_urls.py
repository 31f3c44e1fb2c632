"""Addresses of an office's own wording, and of how its letters look."""

from django.urls import path

from notices.views import letter_look, wording, wording_preview

_P = "p/<slug:code>/letters/"
_W = f"{_P}wording/<slug:work>/<slug:kind>/<slug:language>"

urlpatterns = [
    path(f"{_P}look/", letter_look.letter_look, name="letter-look"),
    path(f"{_P}wording/", wording.wordings, name="wordings"),
    path(f"{_W}/", wording.wording, name="wording"),
    path(f"{_W}/preview/", wording_preview.wording_preview, name="wording-preview"),
    path(f"{_W}/preview.pdf", wording_preview.wording_preview_pdf, name="wording-preview-pdf"),
    path("look/<str:colour>.css", letter_look.look_css, name="look-css"),
    path("look/<str:sha256>.png", letter_look.look_logo, name="look-logo"),
]
