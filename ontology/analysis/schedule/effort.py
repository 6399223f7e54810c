"""How much a search may still do: choices, the same on every machine, and time. Pure; imports the deadline."""

from __future__ import annotations

from dataclasses import dataclass

from ontology.analysis.engine.deadline import Deadline

__all__ = ["Effort", "GaveUpError"]

#: Choices between two looks at the clock.
_LOOK_EVERY = 64


class GaveUpError(Exception):
    """Time or effort is used up."""


@dataclass(slots=True)
class Effort:
    """Choices left, and the deadline."""

    nodes_left: int
    deadline: Deadline

    def spend(self) -> None:
        """Count one choice; GaveUpError where none is left."""
        self.nodes_left -= 1
        if self.nodes_left < 0 or (self.nodes_left % _LOOK_EVERY == 0 and self.deadline.is_over()):
            raise GaveUpError

    def take(self, most: int) -> Effort:
        """Return a part of at most so many choices, taken out of this; `give_back` what is left of it."""
        part = Effort(max(0, min(most, self.nodes_left)), self.deadline)
        self.nodes_left -= part.nodes_left
        return part

    def give_back(self, part: Effort) -> None:
        """Take back what is left of a part."""
        self.nodes_left += max(0, part.nodes_left)
