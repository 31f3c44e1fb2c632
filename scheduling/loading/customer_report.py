"""What a customer file has to say: the tally of every load, and what it proposed."""

from dataclasses import dataclass
from typing import Any

from registry.load_reports import LoadReport


@dataclass(frozen=True, kw_only=True)
class CustomerReport:
    """What a customer file did. `rows` = created + proposed + unchanged + rows set aside."""

    base: LoadReport
    proposed: int
    proposals: dict[str, int]

    def as_json(self) -> dict[str, Any]:
        """The object the command prints: that of every load, with what was proposed."""
        return {
            **self.base.as_json(),
            "proposed": self.proposed,
            "proposals": dict(self.proposals),
        }

    def lines(self) -> list[str]:
        """The report for people."""
        waiting = [f"{count:>8,}  proposed: {kind}" for kind, count in self.proposals.items()]
        return [*self.base.lines(), *waiting]
