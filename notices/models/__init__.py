"""The rows of notices: what was owed, the letters that carry it, and how they went."""

from notices.models.deliveries import Delivery, DeliveryTry, MailStop, PaperRun
from notices.models.letters import Letter, LetterFile, LetterNotice, OrderSignature
from notices.models.notices import Notice
from notices.models.wordings import LetterLogo, Wording

__all__ = [
    "Delivery",
    "DeliveryTry",
    "Letter",
    "LetterFile",
    "LetterLogo",
    "LetterNotice",
    "MailStop",
    "Notice",
    "OrderSignature",
    "PaperRun",
    "Wording",
]
