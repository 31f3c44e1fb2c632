"""Addresses of what a judged field test is put to: certificates and the page behind their code."""

from django.urls import path

from reports.views import certificates, owner_certificates, service_sheets, watch

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
    path(
        f"{_P}assemblies/<int:pk>/service-sheet.pdf",
        service_sheets.assembly_sheet,
        name="service-sheet",
    ),
    path(
        f"{_P}rounds/<int:pk>/service-sheets.pdf",
        service_sheets.round_sheets,
        name="round-service-sheets",
    ),
    path(f"{_P}rounds/<int:pk>/bring/", service_sheets.round_bring, name="round-bring"),
    path(f"{_P}field-tests/quality-watch/", watch.quality_watch, name="quality-watch"),
]
