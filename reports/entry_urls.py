"""Addresses of entering field tests: all that a device keeps stands under one of them."""

from django.urls import URLPattern, URLResolver, include, path

from reports.views import entering, entering_device

_P = "p/<slug:code>/enter/"

urlpatterns: list[URLPattern | URLResolver] = [
    path("", include("reports.batch_urls")),
    path("", include("reports.own_form_urls")),
    path("", include("reports.paper_urls")),
    path("enter-worker.js", entering_device.enter_worker, name="enter-worker"),
    path(_P, entering.enter, name="enter"),
    path(f"{_P}<int:pk>/", entering.enter_assembly, name="enter-assembly"),
    path(f"{_P}type/<slug:kind>/", entering.enter_blank, name="enter-blank"),
    path(f"{_P}ready.json", entering_device.enter_ready, name="enter-ready"),
    path(f"{_P}manifest.webmanifest", entering_device.enter_manifest, name="enter-manifest"),
    path(f"{_P}standing.json", entering_device.enter_standing, name="enter-standing"),
    path(f"{_P}marked/", entering_device.enter_marked, name="enter-marked"),
    path(f"{_P}send/", entering_device.enter_send, name="enter-send"),
    path(f"{_P}photos/", entering_device.enter_photo, name="enter-photo"),
    path(f"{_P}pictures/<int:pk>/", entering_device.enter_picture, name="enter-picture"),
    path(f"{_P}file/", entering_device.enter_file, name="enter-file"),
    path(f"{_P}records/<int:pk>/", entering.enter_record, name="enter-record"),
]
