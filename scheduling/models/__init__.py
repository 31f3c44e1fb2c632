"""The rows of time: rulebooks, facts, obligations, where each assembly stands, and runs."""

from scheduling.models.board import StandingBoard
from scheduling.models.decisions import Decision, DecisionMember
from scheduling.models.facts import Fact
from scheduling.models.levelling import LevelDecision, LevelRow
from scheduling.models.obligations import AssemblyState, Obligation
from scheduling.models.rulebooks import Adoption, Rulebook
from scheduling.models.runs import DayRun, ProgramClock

__all__ = [
    "Adoption",
    "AssemblyState",
    "DayRun",
    "Decision",
    "DecisionMember",
    "Fact",
    "LevelDecision",
    "LevelRow",
    "Obligation",
    "ProgramClock",
    "Rulebook",
    "StandingBoard",
]
