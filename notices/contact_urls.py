"""Addresses of contacts, objections, letters that came back or were sent in error."""

from django.urls import path

from notices.views import contacts, returned

_P = "p/<slug:code>/"

urlpatterns = [
    path(f"{_P}letters/returned/", returned.letters_returned, name="letters-returned"),
    path(
        f"{_P}letters/returned/<int:pk>/",
        returned.letters_returned_settle,
        name="letters-returned-settle",
    ),
    path(f"{_P}letters/<int:pk>/error/", returned.letter_error, name="letter-error"),
    path(f"{_P}deliveries/<int:pk>/photo/", returned.delivery_photo, name="delivery-photo"),
    path(f"{_P}handover-photos/<int:pk>.jpg", returned.handover_photo, name="handover-photo"),
    path(f"{_P}premises/<int:pk>/contacts/", contacts.contacts, name="contacts"),
    path(f"{_P}contacts/<int:pk>/withdraw/", contacts.contact_withdraw, name="contacts-withdraw"),
    path(f"{_P}premises/<int:pk>/objection/", contacts.objection_new, name="objection-new"),
    path(f"{_P}objections/<int:pk>/", contacts.objection, name="objection"),
]
