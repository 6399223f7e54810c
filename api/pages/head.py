"""What the head of a page says of who looks, where there is sign-in and where there is none."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

__all__ = ["OPEN", "Head"]


@dataclass(frozen=True, slots=True)
class Head:
    """Whether one signs in here, and the name of the account that has; "" for nobody."""

    has_accounts: bool = False
    name: str = ""

    @property
    def is_strangers(self) -> bool:
        """Whether nobody has signed in where one has to: there is nowhere to go but in."""
        return self.has_accounts and not self.name


#: Of a server that is open to whoever reaches it.
OPEN: Final = Head()
