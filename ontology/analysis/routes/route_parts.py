"""A sequence's goals in parts: those that share no course from the levels held are parts of their own. Pure.

A part waits until its first goals are due, since levels never fall: its stages are those where it has goals. So the
part of the target's goals that no role in between touches is the same in every sequence, and for everyone who holds the
same of what it can depend on.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from ontology.analysis.routes.level_facts import LevelFacts

__all__ = ["Part", "find_parts"]


@dataclass(frozen=True, slots=True)
class Part:
    """Goals that share courses: for each of `stages` what is due at its end and what is not held then.

    `open_facts` holds of all that the goals can depend on what is not held; with the goals it tells parts apart.
    """

    stages: tuple[int, ...]
    goals: tuple[int, ...]
    open_facts: tuple[int, ...]


def find_parts(facts: LevelFacts, goals: Sequence[int], held: Sequence[int], *, is_merged: bool) -> Iterator[Part]:
    """Yield the parts of goals due at the end of each stage.

    Parameters
    ----------
    goals, held : sequence of int
        For each stage sets of facts; what is held never falls.
    is_merged : bool
        Whether stages count as one, the first of them, between which nothing is held that matters. The least cost is
        the same, but courses come earlier than they need.
    """
    first, every = -1, 0
    for k, due in enumerate(goals):
        if due:
            first = k if first < 0 else first
            every |= due
    if not every:
        return
    for together, reach, _ in facts.split(every, held[first]):
        own = [due & together for due in goals]
        start = next(k for k, due in enumerate(own) if due)
        if held[start] & reach != held[first] & reach:
            yield from find_parts(facts, own, held, is_merged=is_merged)
            continue
        stages: list[int] = []
        due_at: list[int] = []
        open_at: list[int] = []
        for k, due in enumerate(own):
            if not due:
                continue
            still = reach & ~held[k]
            if is_merged and open_at and open_at[-1] == still:
                due_at[-1] |= due
            else:
                stages.append(k)
                due_at.append(due)
                open_at.append(still)
        yield Part(tuple(stages), tuple(due_at), tuple(open_at))
