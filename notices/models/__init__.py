"""The rows of notices: what was owed, the letters that carry it, and how they went."""

from notices.models.answers import LetterAbout
from notices.models.contacts import Contact, HandoverPhoto
from notices.models.deliveries import Delivery, DeliveryTry, MailStop, PaperRun
from notices.models.invitations import LetterInvitation
from notices.models.letters import Letter, LetterFile, LetterNotice, OrderSignature
from notices.models.notices import Notice
from notices.models.objections import ClockStop, Objection
from notices.models.owner_words import OwnerWords
from notices.models.pacing import Gathering, LetterHold, OrderMove, QuietDays
from notices.models.returns import ReturnedLetter
from notices.models.shutoffs import Fee, SecondSignature, Shutoff, ShutoffAnswer, WorkOrder
from notices.models.wordings import LetterLogo, Wording

__all__ = [
    "ClockStop",
    "Contact",
    "Delivery",
    "DeliveryTry",
    "Fee",
    "Gathering",
    "HandoverPhoto",
    "Letter",
    "LetterAbout",
    "LetterFile",
    "LetterHold",
    "LetterInvitation",
    "LetterLogo",
    "LetterNotice",
    "MailStop",
    "Notice",
    "Objection",
    "OrderMove",
    "OrderSignature",
    "OwnerWords",
    "PaperRun",
    "QuietDays",
    "ReturnedLetter",
    "SecondSignature",
    "Shutoff",
    "ShutoffAnswer",
    "Wording",
    "WorkOrder",
]
