"""Addresses of forms of the purveyor's own."""

from django.urls import path

from reports.views import entering_own_forms as forms

_P = "p/<slug:code>/field-tests/forms/"

urlpatterns = [
    path(_P, forms.own_forms, name="own-forms"),
    path(f"{_P}<int:pk>/", forms.own_form, name="own-form"),
    path(f"{_P}<int:pk>/filled/<int:test>/", forms.own_form_filled, name="own-form-filled"),
    path(f"{_P}<int:pk>/period/", forms.own_form_period, name="own-form-period"),
    path(f"{_P}<int:pk>/drop/", forms.own_form_drop, name="own-form-drop"),
]
