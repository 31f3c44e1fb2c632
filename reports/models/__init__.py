"""The rows of reports: field tests with their verdicts, and planned rounds with their stops."""

from reports.models.appointments import AppointmentTold
from reports.models.batches import TakenBackBatch, TakenBackReport
from reports.models.busy import BusyCalendar, BusySpan
from reports.models.certificates import Certificate
from reports.models.entries import EntryPhoto, EntryVersion, FieldEntry
from reports.models.feeds import CalendarFeed, FeedEntry
from reports.models.fieldtests import FieldTest
from reports.models.found import FoundAssembly
from reports.models.jobs import CallMade, Job, PlanningRules
from reports.models.lapses import LapseLetters
from reports.models.ledger import LedgerEntry, LedgerSeal
from reports.models.outcomes import VisitTold
from reports.models.own_forms import OwnForm
from reports.models.own_methods import OwnMethod
from reports.models.papers import Paper, PaperKeying, PaperPage, PaperSpot
from reports.models.rounds import (
    NotForVisit,
    Plan,
    PlanChange,
    PlanLeftOut,
    Round,
    Stop,
    StopWork,
)

__all__ = [
    "AppointmentTold",
    "BusyCalendar",
    "BusySpan",
    "CalendarFeed",
    "CallMade",
    "Certificate",
    "EntryPhoto",
    "EntryVersion",
    "FeedEntry",
    "FieldEntry",
    "FieldTest",
    "FoundAssembly",
    "Job",
    "LapseLetters",
    "LedgerEntry",
    "LedgerSeal",
    "NotForVisit",
    "OwnForm",
    "OwnMethod",
    "Paper",
    "PaperKeying",
    "PaperPage",
    "PaperSpot",
    "Plan",
    "PlanChange",
    "PlanLeftOut",
    "PlanningRules",
    "Round",
    "Stop",
    "StopWork",
    "TakenBackBatch",
    "TakenBackReport",
    "VisitTold",
]
