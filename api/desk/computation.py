"""One slow question that is computed in the background: who asked, how far it is, what it found."""

from __future__ import annotations

import threading
import time
from dataclasses import dataclass, field
from typing import Literal

from api.access.actor import Actor
from api.desk.desk import Answer, Enquiry

#: "left": the actor no longer waits for it, others do.
Phase = Literal["waiting", "computing", "stopping", "cancelled", "left", "done"]


@dataclass(frozen=True, slots=True)
class Progress:
    """How far a computation is, to one of those who asked for it.

    `before` counts those that wait for an earlier turn; `own` are the running computations of the same person, which
    may hold this one up; `elapsed_s` are seconds of computing, `limit_s` is its time limit; `address` is the page that
    asked. `answer` is there once it is done, and what was found until it was cancelled, if anything; neither it nor
    `enquiry` once the state has changed: the page that asked then asks anew.
    """

    number: int
    phase: Phase
    before: int
    own: tuple[int, ...]
    elapsed_s: float
    limit_s: float
    enquiry: Enquiry | None
    address: str
    answer: Answer | None


@dataclass(slots=True, eq=False)
class Computation:
    """A computation as it goes on; only `Computations` changes it.

    Attributes
    ----------
    number : int
    key : tuple
        What stands for its answer, and for whom alone it is kept; None for all who may see the same.
    owner : Actor
        Who asked first: the places are counted for them.
    enquiry : Enquiry or None
        None once its state is no longer the present one: it would hold a whole Snapshot.
    askers : dict of Actor to str
        Who asked, and on which page.
    left : set of Actor
        Who of them no longer waits.
    """

    number: int
    key: tuple[str, Actor | None]
    owner: Actor
    enquiry: Enquiry | None
    askers: dict[Actor, str] = field(default_factory=dict)
    left: set[Actor] = field(default_factory=set)
    stop: threading.Event = field(default_factory=threading.Event)
    done: threading.Event = field(default_factory=threading.Event)
    is_under_way: bool = False
    begun: float | None = None
    ended: float | None = None
    answer: Answer | None = None
    error: Exception | None = None

    @property
    def is_waiting(self) -> bool:
        """Whether its turn has not come yet."""
        return self.begun is None and not self.done.is_set()

    @property
    def is_running(self) -> bool:
        """Whether it has a thread."""
        return self.is_under_way and not self.done.is_set()

    @property
    def elapsed_s(self) -> float:
        """Seconds it has computed."""
        if self.begun is None:
            return 0.0
        return (time.monotonic() if self.ended is None else self.ended) - self.begun

    @property
    def limit_s(self) -> float:
        """Seconds it may compute; 0 where it has no limit."""
        return 0.0 if self.enquiry is None else float(getattr(self.enquiry.asked, "time_limit_s", 0.0))

    def get_phase(self, actor: Actor) -> Phase:
        """Return where it stands for one of those who asked."""
        if self.done.is_set():
            return "cancelled" if self.stop.is_set() and self.enquiry is not None else "done"
        if self.stop.is_set():
            return "stopping"
        if actor in self.left:
            return "left"
        return "waiting" if self.begun is None else "computing"

    def end(self) -> None:
        """Note that it is over."""
        self.ended = time.monotonic()
        self.done.set()
