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


class LetterState(StrEnum):
    """The life of a letter: composed, released where a person must, left; or it ends otherwise."""

    COMPOSED = "composed"
    RELEASED = "released"
    LEFT = "left"
    WITHDRAWN = "withdrawn"
    FAILED = "failed"
    RETURNED = "returned"


LIVE_STATES = frozenset({LetterState.COMPOSED, LetterState.RELEASED, LetterState.LEFT})
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
