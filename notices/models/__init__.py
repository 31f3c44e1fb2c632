"""The rows of notices: what was owed, the letters that carry it, and how they went."""

from notices.models.letters import Delivery, Letter, LetterFile, LetterNotice, OrderSignature
from notices.models.notices import Notice

__all__ = ["Delivery", "Letter", "LetterFile", "LetterNotice", "Notice", "OrderSignature"]
