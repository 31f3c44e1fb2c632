"""Addresses of judging: credentials, assemblies found in the field, reports mended or struck."""

from django.urls import path

from reports.views import (
    air_gaps,
    credentials,
    erasing,
    erasing_pictures,
    firms,
    found,
    lapse_letters,
    mending,
    own_methods,
)

_P = "p/<slug:code>/"

urlpatterns = [
    path(f"{_P}testers/lapses/", lapse_letters.lapses, name="lapses"),
    path(f"{_P}testers/lapses/letters/", lapse_letters.lapse_letters, name="lapse-letters"),
    path(
        f"{_P}testers/lapses/letters/write/",
        lapse_letters.lapse_letters_write,
        name="lapse-letters-write",
    ),
    path(f"{_P}erase/", erasing.erase_list, name="erase-people"),
    path(f"{_P}erase/pictures/", erasing_pictures.erase_pictures, name="erase-pictures"),
    path(
        f"{_P}erase/pictures/<slug:kind>/<int:pk>/",
        erasing_pictures.erase_picture,
        name="erase-picture",
    ),
    path(
        f"{_P}erase/pictures/<slug:kind>/<int:pk>/file/",
        erasing_pictures.erase_picture_file,
        name="erase-picture-file",
    ),
    path(f"{_P}erase/<slug:what>/<int:pk>/", erasing.erase_person, name="erase-person"),
    path(f"{_P}companies/", firms.firms, name="firms"),
    path(f"{_P}companies/<int:pk>/", firms.firm_change, name="firm-change"),
    path(f"{_P}companies/letters/<int:pk>.pdf", firms.firm_letter, name="firm-letter"),
    path(f"{_P}testers/<int:pk>/", credentials.tester, name="tester"),
    path(f"{_P}testers/<int:pk>/terms/new/", credentials.term_new, name="term-new"),
    path(f"{_P}terms/<int:pk>/end/", credentials.term_end, name="term-end"),
    path(f"{_P}gauges/<int:pk>/", credentials.gauge, name="gauge"),
    path(
        f"{_P}gauges/<int:pk>/calibrations/new/",
        credentials.calibration_new,
        name="calibration-new",
    ),
    path(
        f"{_P}calibrations/<int:pk>/strike/",
        credentials.calibration_strike,
        name="calibration-strike",
    ),
    path(f"{_P}calibrations/<int:pk>/file/", credentials.calibration_file, name="calibration-file"),
    path(f"{_P}assemblies/<int:pk>/air-gap/", air_gaps.air_gap, name="air-gap"),
    path(f"{_P}found/", found.found_list, name="found"),
    path(f"{_P}found/<int:pk>/", found.found_one, name="found-one"),
    path(f"{_P}field-tests/<int:pk>/strike/", mending.field_test_strike, name="field-test-strike"),
    path(
        f"{_P}field-tests/<int:pk>/replaced/",
        mending.field_test_replaced,
        name="field-test-replaced",
    ),
    path(f"{_P}field-tests/<int:pk>/mend/", mending.field_test_mend, name="field-test-mend"),
    path(
        f"{_P}field-tests/<int:pk>/methods/", mending.field_test_methods, name="field-test-methods"
    ),
    path(f"{_P}methods/", own_methods.methods, name="methods"),
    path(f"{_P}methods/new/", own_methods.method_new, name="method-new"),
    path(f"{_P}methods/<int:pk>/", own_methods.method_change, name="method-change"),
]
