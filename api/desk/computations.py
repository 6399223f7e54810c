"""Slow questions that a page asks: they compute in the background, and the page looks in until they are done.

A computation is found by what stands for its answer (the desk's tag, which says who may see the same); a private one
by its asker too. What it found is kept for a while, so the page can be left and come back to.
"""

from __future__ import annotations

import atexit
import threading
import time
import weakref
from typing import Final

from api.access.actor import Actor
from api.desk.computation import Computation, Progress
from api.desk.desk import Answer, Desk, Enquiry
from api.desk.states import State
from api.errors import BusyError
from ontology.analysis.engine.deadline import heed
from ontology.errors import NotFoundError

#: Seconds a page waits for a slow answer before it shows how far it is.
PATIENCE_S: Final = 1.0
#: Seconds an answer is kept for who went on elsewhere.
KEPT_S: Final = 15 * 60.0
#: Computations of one person at once.
AT_ONCE: Final = 2
#: Computations that may wait for their turn; they hold no thread.
WAITING_MAX: Final = 100
#: Answers kept, the oldest let go first.
KEPT_MAX: Final = 64
#: Seconds that the end of the program waits for what computes.
CLOSED_WITHIN_S: Final = 10.0


class StillComputing(Exception):
    """An answer is not there yet; `number` is that of its computation."""

    def __init__(self, number: int) -> None:
        super().__init__(f"computation {number} goes on")
        self.number = number


class Computations:
    """Computes a desk's slow answers on threads of its own, in the places of the desk's gate.

    A page waits `patience_s` seconds, an answer is kept for `kept_s`.

    Notes
    -----
    Every step under the one lock is short: O(computations^2), and there are a hundred or two.
    """

    def __init__(self, desk: Desk, *, patience_s: float = PATIENCE_S, kept_s: float = KEPT_S) -> None:
        self._desk = desk
        self._patience_s = patience_s
        self._kept_s = kept_s
        self._lock = threading.Lock()
        self._by_number: dict[int, Computation] = {}
        self._by_key: dict[tuple[str, Actor | None], Computation] = {}
        self._last = 0
        self._threads: weakref.WeakSet[threading.Thread] = weakref.WeakSet()
        _OPEN.add(self)

    def ask(self, enquiry: Enquiry, address: str) -> Answer:
        """Return the answer to what the desk received: what was kept, or what is found within a page's patience.

        `address` is the page that asks, where the computation leads when it is done.

        Raises
        ------
        StillComputing
            It goes on in the background.
        BusyError
            Too many wait already.
        InputError
            The question cannot be answered as asked.
        """
        with self._lock:
            self._let_go(enquiry.state)
            computation = self._find(enquiry) or self._add(enquiry)
            computation.askers[enquiry.actor] = address
            computation.left.discard(enquiry.actor)
            self._begin_next()
        computation.done.wait(self._patience_s)
        with self._lock:
            if computation.error is not None:
                self._forget(computation)
                raise computation.error
            if computation.answer is None:
                raise StillComputing(computation.number)
            answer = computation.answer
        return self._desk.hand_out(answer, enquiry.actor)

    def get_progress(self, number: int, actor: Actor) -> Progress:
        """Return how far a computation is.

        Raises
        ------
        NotFoundError
            There is none of this number that the actor asked for; which of the two is not told.
        """
        with self._lock:
            self._let_go()
            computation = self._require(number, actor)
            return Progress(
                number=number,
                phase=computation.get_phase(actor),
                before=sum(other.is_waiting and other.number < number for other in self._by_number.values()),
                own=self._list_own(computation),
                elapsed_s=computation.elapsed_s,
                limit_s=computation.limit_s,
                enquiry=computation.enquiry,
                address=computation.askers[actor],
                answer=computation.answer,
            )

    def cancel(self, number: int, actor: Actor) -> None:
        """End a computation; where others wait for the same answer it goes on for them.

        Raises
        ------
        NotFoundError
            As in `get_progress`.
        """
        with self._lock:
            computation = self._require(number, actor)
            if computation.done.is_set():
                return
            computation.left.add(actor)
            if computation.left < computation.askers.keys():
                return
            computation.stop.set()
            # who else asks the same from now on is not to be given half an answer
            self._close(computation)
            if computation.is_under_way:
                computation.key = (computation.key[0], actor)
                self._by_key[computation.key] = computation
            else:
                computation.end()

    def forget(self, number: int, actor: Actor) -> str:
        """Let go of what a computation found, so that it is computed again; return the page that asked.

        Raises
        ------
        NotFoundError
            As in `get_progress`.
        """
        with self._lock:
            computation = self._require(number, actor)
            if computation.done.is_set():
                self._forget(computation)
            return computation.askers[actor]

    def forget_all(self) -> None:
        """End all that computes and let go of all that was found: what it was about must not be known any more."""
        with self._lock:
            for computation in list(self._by_number.values()):
                computation.stop.set()
                self._forget(computation)

    def close(self) -> None:
        """End all that computes, and wait a while for it."""
        with self._lock:
            for computation in self._by_number.values():
                computation.stop.set()
                # one that waits for its turn would begin a thread of its own, that nobody waits for
                if not computation.is_under_way and not computation.done.is_set():
                    computation.end()
        end = time.monotonic() + CLOSED_WITHIN_S
        for thread in list(self._threads):
            thread.join(max(0.0, end - time.monotonic()))

    def _require(self, number: int, actor: Actor) -> Computation:
        computation = self._by_number.get(number)
        if computation is None or actor not in computation.askers:
            raise NotFoundError("There is no such computation. What was found is kept for 15 minutes.")
        return computation

    def _find(self, enquiry: Enquiry) -> Computation | None:
        """Return the computation of this question: the asker's own, else one for all who may see the same."""
        tag = self._get_tag(enquiry)
        own = self._by_key.get((tag, enquiry.actor))
        return own if own is not None or enquiry.question.is_private else self._by_key.get((tag, None))

    def _add(self, enquiry: Enquiry) -> Computation:
        if sum(each.is_waiting for each in self._by_number.values()) >= WAITING_MAX:
            raise BusyError
        self._last += 1
        for_whom = enquiry.actor if enquiry.question.is_private else None
        computation = Computation(self._last, (self._get_tag(enquiry), for_whom), enquiry.actor, enquiry)
        self._by_number[computation.number] = self._by_key[computation.key] = computation
        return computation

    def _get_tag(self, enquiry: Enquiry) -> str:
        return self._desk.get_tag(enquiry, "computed")

    def _begin_next(self) -> None:
        """Start as many of those that wait as there are places, first come first served."""
        places = self._desk.settings.slow_computing_max - sum(each.is_running for each in self._by_number.values())
        for computation in self._by_number.values():
            if places <= 0:
                return
            if computation.is_waiting and not computation.is_under_way and len(self._list_own(computation)) < AT_ONCE:
                computation.is_under_way = True
                places -= 1
                thread = threading.Thread(target=self._run, args=(computation, computation.enquiry), daemon=True)
                self._threads.add(thread)
                thread.start()

    def _run(self, computation: Computation, enquiry: Enquiry) -> None:
        try:
            with self._desk.gate.wait(computation.stop) as has_place:
                if has_place:
                    computation.begun = time.monotonic()
                    with heed(computation.stop):
                        computation.answer = self._desk.compute(enquiry)
        except Exception as error:  # raised again where someone looks in
            computation.error = error
        with self._lock:
            if computation.stop.is_set() and computation.answer is None:
                self._close(computation)
            computation.end()
            self._begin_next()

    def _list_own(self, computation: Computation) -> tuple[int, ...]:
        """Return the running computations of who asked this one first, others than this."""
        return tuple(
            other.number
            for other in self._by_number.values()
            if other.is_running and other is not computation and other.owner == computation.owner
        )

    def _let_go(self, state: State | None = None) -> None:
        """Forget what is too old or too much; keep of answers on what was the present only which page asked."""
        ended = [each for each in self._by_number.values() if each.ended is not None]
        now = time.monotonic()
        for place, computation in enumerate(ended):
            assert computation.ended is not None
            if now - computation.ended > self._kept_s or len(ended) - place > KEPT_MAX:
                self._forget(computation)
            elif computation.enquiry is not None and _is_overtaken(computation.enquiry.state, state):
                self._close(computation)
                computation.enquiry = computation.answer = None

    def _close(self, computation: Computation) -> None:
        """Let nobody who asks the same find it; by its number it is still found."""
        if self._by_key.get(computation.key) is computation:
            del self._by_key[computation.key]

    def _forget(self, computation: Computation) -> None:
        self._close(computation)
        self._by_number.pop(computation.number, None)


def _is_overtaken(asked: State, present: State | None) -> bool:
    """Whether a state was the present one, and another is."""
    if present is None or asked.told is not None or present.told is not None:
        return False
    return asked.snapshot.revision < present.snapshot.revision


#: A thread that is inside the solver when the program ends would take the program down with it.
_OPEN: Final[weakref.WeakSet[Computations]] = weakref.WeakSet()


@atexit.register
def _close_all() -> None:
    for computations in list(_OPEN):
        computations.close()
