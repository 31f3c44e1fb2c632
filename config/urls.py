"""Every address of the site, gathered from the apps."""

from django.urls import URLPattern, URLResolver, include, path

urlpatterns: list[URLPattern | URLResolver] = [
    path("", include("registry.urls")),
    path("", include("scheduling.urls")),
    path("", include("notices.urls")),
    path("", include("reports.urls")),
    path("", include("reports.place_urls")),
]
