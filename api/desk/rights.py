"""What one must be allowed in order to ask; who may do what is decided in one place, at the desk."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum
from typing import Final

__all__ = ["LOCAL_OWNER", "Actor", "Right"]


class Right(Enum):
    """What an answer shows."""

    SEE_FRAMEWORK = "competencies, roles, courses and how they hang together"
    SEE_PERSON = "one person's levels and ways"
    SEE_TEAM = "a team's cover and people"
    SEE_COMPANY = "the cover of all teams, and who is in them"


@dataclass(frozen=True, slots=True)
class Actor:
    """Who asks.

    `sees` is what an answer may hold for them, as a text: answers kept for one are told to those alone who see the
    same. `person_id` is the person they are, or look as; "" for nobody.
    """

    name: str
    rights: frozenset[Right]
    sees: str
    person_id: str = ""


#: Until there is sign-in whoever reaches the program owns the store on this machine, and may everything.
LOCAL_OWNER: Final = Actor("local owner", frozenset(Right), "everything")
