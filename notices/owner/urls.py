"""The addresses of the owner's page."""

from django.urls import path

from notices.owner.views import enter_code, show_page

urlpatterns = [
    path("o/", enter_code, name="owner-code"),
    path("o", enter_code),
    path("o/<str:token>", show_page, name="owner-page"),
]
