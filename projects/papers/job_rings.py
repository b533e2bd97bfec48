"""Whose rings are which, where a sawing plan numbers them through several commissions."""

from dataclasses import dataclass

from projects.models import Commission


@dataclass(frozen=True, slots=True)
class JobRings:
    """The rings of one commission in the plan's numbering; its own begin at 1."""

    commission: Commission
    first: int
    last: int

    @property
    def own(self) -> int:
        """How many it has."""
        return self.last - self.first + 1
