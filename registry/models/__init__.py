"""The rows of the registry: programs, testing companies, premises, assemblies, people, changes."""

from registry.models.assemblies import Assembly, HazardAssessment, ServiceConnection
from registry.models.changes import Change, LoadBatch, Question, SavedHeader, SetAsideRow
from registry.models.firms import (
    Approval,
    Assignment,
    Calibration,
    Certification,
    Firm,
    Gauge,
    Tester,
)
from registry.models.people import Membership
from registry.models.premises import Party, Premises, PremisesParty
from registry.models.programs import Program

__all__ = [
    "Approval",
    "Assembly",
    "Assignment",
    "Calibration",
    "Certification",
    "Change",
    "Firm",
    "Gauge",
    "HazardAssessment",
    "LoadBatch",
    "Membership",
    "Party",
    "Premises",
    "PremisesParty",
    "Program",
    "Question",
    "SavedHeader",
    "ServiceConnection",
    "SetAsideRow",
    "Tester",
]
