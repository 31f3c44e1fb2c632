"""Addresses of letters and orders; the owner's page has its own."""

from django.urls import URLPattern, URLResolver, include, path

from notices.views import (
    before_shutoff,
    bounces,
    history,
    letter_day,
    letters,
    mail,
    orders,
    paper_runs,
    preview,
    shutoffs,
)

_P = "p/<slug:code>/"

urlpatterns: list[URLPattern | URLResolver] = [
    path("", include("notices.owner.urls")),
    path("", include("notices.pacing_urls")),
    path("", include("notices.wording_urls")),
    path("", include("notices.contact_urls")),
    path(f"{_P}letters/", letters.letters, name="letters"),
    path(f"{_P}letters/release/", letters.letters_release, name="letters-release"),
    path(f"{_P}letters/next-run/", preview.letters_preview, name="letters-preview"),
    path(f"{_P}letters/<int:pk>/", letters.letter, name="letter"),
    path(f"{_P}letters/<int:pk>/pages.pdf", letters.letter_pdf, name="letter-pdf"),
    path(f"{_P}deliveries/<int:pk>/decide/", mail.delivery_decide, name="delivery-decide"),
    path(f"{_P}deliveries/<int:pk>/left/", paper_runs.delivery_left, name="delivery-left"),
    path(f"{_P}paper/", paper_runs.paper_runs, name="letter-runs"),
    path(f"{_P}paper/mailing/", paper_runs.letter_mailing, name="letter-mailing"),
    path(f"{_P}paper/make/", paper_runs.paper_run_make, name="letter-run-make"),
    path(f"{_P}paper/<int:pk>/", paper_runs.paper_run, name="letter-run"),
    path(f"{_P}paper/<int:pk>/run.pdf", paper_runs.paper_run_pdf, name="letter-run-pdf"),
    path(f"{_P}paper/<int:pk>/run.csv", paper_runs.paper_run_csv, name="letter-run-csv"),
    path(f"{_P}paper/<int:pk>/mailed/", paper_runs.paper_run_mailed, name="letter-run-mailed"),
    path(f"{_P}paper/<int:pk>/numbers/", paper_runs.paper_run_numbers, name="letter-run-numbers"),
    path(f"{_P}paper/<int:pk>/spoiled/", paper_runs.paper_run_spoiled, name="letter-run-spoiled"),
    path(f"{_P}mail/", mail.mail, name="mail"),
    path(f"{_P}mail/test/", mail.mail_test, name="mail-test"),
    path(f"{_P}mail/stops/<int:pk>/lift/", mail.mail_lift, name="mail-lift"),
    path("mail/bounces", bounces.mail_bounces, name="mail-bounces"),
    path(f"{_P}assemblies/<int:pk>/letters/", letter_day.assembly_letters, name="assembly-letters"),
    path(f"{_P}history/", history.history, name="load-history"),
    path(f"{_P}orders/", orders.orders, name="orders"),
    path(f"{_P}orders/fire-department/", orders.fire_department_form, name="fire-department"),
    path(f"{_P}orders/<int:pk>/", orders.order, name="order"),
    path(f"{_P}orders/<int:pk>/sign/", orders.order_sign, name="order-sign"),
    path(f"{_P}shutoffs/<int:pk>/", shutoffs.shutoff, name="shutoff"),
    path(f"{_P}shutoffs/<int:pk>/work-order/", shutoffs.shutoff_work, name="shutoff-work"),
    path(f"{_P}shutoffs/<int:pk>/proof/", shutoffs.shutoff_proof, name="shutoff-proof"),
    path(f"{_P}shutoffs/<int:pk>/call-off/", shutoffs.shutoff_call_off, name="shutoff-call-off"),
    path(f"{_P}work-orders/<int:pk>/paper.pdf", shutoffs.work_order_pdf, name="work-order-pdf"),
    path(f"{_P}work-orders/<int:pk>/done/", shutoffs.work_order_done, name="work-order-done"),
    path(f"{_P}premises/<int:pk>/answers/", before_shutoff.shutoff_answers, name="shutoff-answers"),
    path(
        f"{_P}answers/<int:pk>/strike/",
        before_shutoff.shutoff_answer_strike,
        name="shutoff-answer-strike",
    ),
    path(
        f"{_P}premises/<int:pk>/emergency/", before_shutoff.emergency_order, name="emergency-order"
    ),
    path(f"{_P}premises/<int:pk>/fees/", before_shutoff.fees, name="fees"),
    path(f"{_P}fees/<int:pk>/settle/", before_shutoff.fee_settle, name="fee-settle"),
]
