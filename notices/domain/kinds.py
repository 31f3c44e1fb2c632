"""The closed lists of notices: kinds of letter, what state a letter is in, how it travels."""

from __future__ import annotations

from enum import StrEnum


class LetterKind(StrEnum):
    """A letter's kind: that a rung names as its letter, else the one named as the rung.

    `due-notice` and its second are asked for by law before the due date; `turn-off` is a last
    notice after the final one, that names the day.
    """

    TEST_OWED = "test-owed"
    DUE_NOTICE = "due-notice"
    SECOND_DUE_NOTICE = "second-due-notice"
    REMINDER = "reminder"
    SECOND_REMINDER = "second-reminder"
    REPAIR = "repair"
    FIRST_OVERDUE = "first-overdue"
    SECOND_OVERDUE = "second-overdue"
    FINAL = "final"
    TURN_OFF = "turn-off"
    SHUTOFF_ORDER = "shutoff-order"


COURTESY_KINDS = frozenset({LetterKind.REMINDER, LetterKind.SECOND_REMINDER})
"""Letters no law asks for: passed over when late."""

DUE_KINDS = frozenset({LetterKind.DUE_NOTICE, LetterKind.SECOND_DUE_NOTICE})
"""Letters in advance that a law asks for: never passed over."""

BEFORE_DUE_KINDS = COURTESY_KINDS | DUE_KINDS | {LetterKind.TEST_OWED}
"""Letters about a test that is not yet past its day."""

FINAL_KINDS = frozenset({LetterKind.FINAL, LetterKind.TURN_OFF})
"""Letters after which an order may follow: they name the day, and how to be heard before it."""

ONLY_OF_TESTS = DUE_KINDS | {LetterKind.REPAIR, LetterKind.TURN_OFF, LetterKind.SHUTOFF_ORDER}
"""Kinds that only a letter about tests has."""


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
