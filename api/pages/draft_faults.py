"""What is wrong with a form about drafts that was sent, and what such a form tells of its fields. Pure."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

__all__ = ["DraftFault", "WithFaults"]

#: Fields of these forms whose faults do not say which field they are of.
_LABELS: Final = {"version": "Name of the release", "reason": "Why", "title": "Title", "id": "Id", "base": "Based on"}


@dataclass(frozen=True, slots=True)
class DraftFault:
    """What is wrong with a form that was sent: at which field ("" for none), and why."""

    field: str
    reason: str

    @property
    def told(self) -> str:
        """What a summary says of it: with the field's name, where the reason does not tell it.

        Examples
        --------
        >>> DraftFault("version", "Must be an id.").told, DraftFault("reason", "The reason must be filled in.").told
        ('Name of the release: must be an id.', 'The reason must be filled in.')
        """
        label = "" if self.reason.startswith("The ") else _LABELS.get(self.field, "")
        return f"{label}: {self.reason[:1].lower()}{self.reason[1:]}" if label else self.reason


class WithFaults:
    """What is shown with `faults`: a template asks for those of a field."""

    __slots__ = ()
    faults: tuple[DraftFault, ...]

    def get_reasons(self, name: str) -> list[str]:
        """Return what is wrong with a field."""
        return [fault.reason for fault in self.faults if fault.field == name]
