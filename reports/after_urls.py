"""Addresses of what a judged field test is put to: certificates and the page behind their code."""

from django.urls import path

from reports.views import certificates, owner_certificates

_P = "p/<slug:code>/"

urlpatterns = [
    path("c/<str:token>", certificates.genuine, name="certificate-page"),
    path("o/<str:token>/tests/", owner_certificates.owner_list, name="owner-certificates"),
    path(
        "o/<str:token>/tests/<int:pk>.pdf", owner_certificates.owner_pdf, name="owner-certificate"
    ),
    path(
        f"{_P}field-tests/<int:pk>/certificate/",
        certificates.certificate_make,
        name="certificate-make",
    ),
    path(f"{_P}certificates/<int:pk>.pdf", certificates.certificate_pdf, name="certificate-pdf"),
]
