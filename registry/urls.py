"""Addresses of log in, log out, and a person's own page."""

from django.contrib.auth.views import LoginView, LogoutView
from django.urls import path

from registry.views import people

urlpatterns = [
    path(
        "login/",
        LoginView.as_view(template_name="registry/login.html", redirect_authenticated_user=True),
        name="login",
    ),
    path("logout/", LogoutView.as_view(), name="logout"),
    path("yourself/", people.yourself, name="yourself"),
    path("look/", people.look, name="look"),
]
