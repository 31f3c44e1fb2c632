"""The addresses of the owner's page."""

from django.urls import path

from notices.owner.reminders import stop_reminders
from notices.owner.views import enter_code, say, show_page

urlpatterns = [
    path("o/", enter_code, name="owner-code"),
    path("o", enter_code),
    path("o/<str:token>", show_page, name="owner-page"),
    path("o/<str:token>/say", say, name="owner-say"),
    path("o/<str:token>/reminders", stop_reminders, name="owner-reminders"),
]
