"""The closed lists of notices: kinds of letter, what state a letter is in, how it travels."""

from __future__ import annotations

from enum import StrEnum


class LetterKind(StrEnum):
    """A letter's kind; the values are the rung keys of the rulebooks that ship."""

    TEST_OWED = "test-owed"
    REMINDER = "reminder"
    SECOND_REMINDER = "second-reminder"
    REPAIR = "repair"
    FIRST_OVERDUE = "first-overdue"
    SECOND_OVERDUE = "second-overdue"
    FINAL = "final"
    SHUTOFF_ORDER = "shutoff-order"


COURTESY_KINDS = frozenset({LetterKind.REMINDER, LetterKind.SECOND_REMINDER})
"""Letters no law asks for: passed over when late."""

BEFORE_DUE_KINDS = COURTESY_KINDS | {LetterKind.TEST_OWED}
"""Letters about a test that is not yet past its day."""


class Work(StrEnum):
    """What a letter asks for; one letter asks for one of them."""

    TEST = "test"
    PROTECTION = "protection"
    SURVEY = "survey"


class LetterState(StrEnum):
    """The life of a letter: composed, leaving once it may go, left; or it ends otherwise.

    It is leaving from its release until the last delivery its rulebook asks for has left.
    """

    COMPOSED = "composed"
    RELEASED = "released"
    LEAVING = "leaving"
    LEFT = "left"
    WITHDRAWN = "withdrawn"
    FAILED = "failed"
    RETURNED = "returned"


UNSENT_STATES = frozenset({LetterState.COMPOSED, LetterState.RELEASED, LetterState.LEAVING})
"""States in which a letter has not left; a cause that is gone withdraws it."""

LIVE_STATES = UNSENT_STATES | {LetterState.LEFT}
"""States in which a letter still speaks for its notices."""


class Channel(StrEnum):
    """How a letter travels."""

    MAIL = "mail"
    CERTIFIED = "certified"
    DOOR = "door"
    HAND = "hand"
    EMAIL = "e-mail"


class FireLine(StrEnum):
    """Whether shutting a service would take the fire protection off."""

    NONE = ""
    DEDICATED = "dedicated"
    COMBINED = "combined"
