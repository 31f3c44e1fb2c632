"""Stories under every kind of rule, worked by hand with the arithmetic in words."""

from tests.oracle.every.worked.again import AGAIN
from tests.oracle.every.worked.changes import CHANGES
from tests.oracle.every.worked.decisions import DECISIONS
from tests.oracle.every.worked.events import EVENTS
from tests.oracle.every.worked.how_often import HOW_OFTEN
from tests.oracle.every.worked.ladders import LETTERS

CASES = (*HOW_OFTEN, *EVENTS, *DECISIONS, *CHANGES, *AGAIN)

__all__ = ["CASES", "LETTERS"]
