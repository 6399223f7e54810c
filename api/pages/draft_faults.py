"""What is wrong with a form about drafts that was sent, and what such a form tells of its fields. Pure."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["DraftFault", "WithFaults"]


@dataclass(frozen=True, slots=True)
class DraftFault:
    """What is wrong with a form that was sent: at which field ("" for none), and why."""

    field: str
    reason: str


class WithFaults:
    """What is shown with `faults`: a template asks for those of a field."""

    __slots__ = ()
    faults: tuple[DraftFault, ...]

    def get_reasons(self, name: str) -> list[str]:
        """Return what is wrong with a field."""
        return [fault.reason for fault in self.faults if fault.field == name]
