"""Addresses of files of reports: their templates, bringing them in, taking them back."""

from django.urls import path

from reports.views import entering_batches as batches

_F = "p/<slug:code>/field-tests/"
_EXTENSION = "<slug:extension>"

urlpatterns = [
    path(f"{_F}load/", batches.tests_load, name="tests-load"),
    path(f"{_F}load/<str:token>/", batches.tests_load_look, name="tests-load-look"),
    path(f"{_F}load/<str:token>/columns/", batches.tests_load_columns, name="tests-load-columns"),
    path(
        f"{_F}load/<str:token>/to-mend.{_EXTENSION}",
        batches.tests_load_rest,
        name="tests-load-rest",
    ),
    path(
        f"{_F}load/<str:token>/bring-in/", batches.tests_load_bring_in, name="tests-load-bring-in"
    ),
    path(f"{_F}template/<slug:kind>.{_EXTENSION}", batches.tests_template, name="tests-template"),
    path(f"{_F}files/<int:pk>/", batches.tests_batch, name="tests-batch"),
    path(
        f"{_F}files/<int:pk>/to-mend.{_EXTENSION}",
        batches.tests_batch_rest,
        name="tests-batch-rest",
    ),
    path(
        f"{_F}files/<int:pk>/take-back/",
        batches.tests_batch_take_back,
        name="tests-batch-take-back",
    ),
]
