"""All histories worked by hand, one tuple."""

from tests.oracle.worked.anniversary import ANNIVERSARY
from tests.oracle.worked.events import EVENTS
from tests.oracle.worked.failures import FAILURES
from tests.oracle.worked.pauses import PAUSES
from tests.oracle.worked.rolling import ROLLING
from tests.oracle.worked.season import SEASON

WORKED = ROLLING + EVENTS + ANNIVERSARY + SEASON + FAILURES + PAUSES
