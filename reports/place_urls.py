"""Addresses of what premises owe: one premises with its reasons, and the list of them."""

from django.urls import URLPattern, path

from reports.views import place_owed, places_list

_P = "p/<slug:code>/"

urlpatterns: list[URLPattern] = [
    path(f"{_P}premises/", places_list.premises_list, name="premises-list"),
    path(f"{_P}premises/<int:pk>/owed/", place_owed.place_owed, name="premises-owed"),
]
