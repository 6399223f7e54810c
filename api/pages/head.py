"""What the head of a page says of who looks, where there is sign-in and where there is none."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Final

from api.pages.page import WAYS, Way

__all__ = ["OPEN", "Head"]


@dataclass(frozen=True, slots=True)
class Head:
    """Whether one signs in here, the name of the account that has ("" for nobody), and the ways in that it may go."""

    has_accounts: bool = False
    name: str = ""
    ways: Mapping[Way, tuple[str, str]] = field(default_factory=lambda: WAYS)

    @property
    def is_strangers(self) -> bool:
        """Whether nobody has signed in where one has to: there is nowhere to go but in."""
        return self.has_accounts and not self.name


#: Of a server that is open to whoever reaches it.
OPEN: Final = Head()
