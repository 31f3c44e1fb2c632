"""The rows of the registry: programs, testing companies, premises, assemblies, people, changes."""

from registry.models.assemblies import Assembly, HazardAssessment, ServiceConnection
from registry.models.changes import Change, LoadBatch, Question, SavedHeader, SetAsideRow
from registry.models.erasures import Erasure, PictureRemoval
from registry.models.firms import (
    Approval,
    Assignment,
    Calibration,
    Certification,
    Firm,
    Gauge,
    Tester,
)
from registry.models.merges import Alias, Merge
from registry.models.people import Membership
from registry.models.premises import Party, Premises, PremisesParty
from registry.models.programs import Program
from registry.models.proposals import Proposal

__all__ = [
    "Alias",
    "Approval",
    "Assembly",
    "Assignment",
    "Calibration",
    "Certification",
    "Change",
    "Erasure",
    "Firm",
    "Gauge",
    "HazardAssessment",
    "LoadBatch",
    "Membership",
    "Merge",
    "Party",
    "PictureRemoval",
    "Premises",
    "PremisesParty",
    "Program",
    "Proposal",
    "Question",
    "SavedHeader",
    "ServiceConnection",
    "SetAsideRow",
    "Tester",
]
