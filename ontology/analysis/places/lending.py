"""How many of some people a team could lend at once, and who: the most without whom nothing that holds breaks. Pure.

May import presence, holding, bottleneck and the door to HiGHS. A need lets go as many as it has above its minimum. The
sets of people without whom as many slots can still be filled are the independent sets of a matroid (the dual of a
transversal one), so with slots alone, taking whoever can go in the order of ids is the most. Both together are an
integer program: it is solved only where that way ends below a bound.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Collection, Iterable
from dataclasses import dataclass, field

from ontology.analysis.engine.solver import INFINITY, LinearModel, solve_mixed
from ontology.analysis.places.bottleneck import Matching
from ontology.analysis.places.holding import Holding

__all__ = ["Lending", "find_lendable"]


@dataclass(frozen=True)
class Lending:
    """Who the teams could lend on a day; each team is looked at once, and each question about it.

    Attributes
    ----------
    build : callable
        What holds in the team of an id on the day; None where nothing is asked of it.
    """

    build: Callable[[str], Holding | None]
    _holdings: dict[str, Holding | None] = field(default_factory=dict)
    _lendable: dict[tuple[str, frozenset[str]], tuple[str, ...]] = field(default_factory=dict)

    def get_holding(self, team_id: str) -> Holding | None:
        """Return what holds in a team; None where nothing is asked of it."""
        if team_id not in self._holdings:
            self._holdings[team_id] = self.build(team_id)
        return self._holdings[team_id]

    def find(self, team_id: str, people: Iterable[str]) -> tuple[str, ...]:
        """Return the most of some members present whom their team could lend at once; see `find_lendable`."""
        asked = team_id, frozenset(people)
        if asked not in self._lendable:
            holding = self.get_holding(team_id)
            self._lendable[asked] = tuple(sorted(asked[1])) if holding is None else find_lendable(holding, asked[1])
        return self._lendable[asked]


def find_lendable(holding: Holding, candidates: Iterable[str]) -> tuple[str, ...]:
    """Return the most people who can leave a team at once so that nothing breaks that holds there.

    Parameters
    ----------
    holding : Holding
        The team on a day.
    candidates : iterable of str
        Members who are there and could be lent.

    Returns
    -------
    tuple of str
        Sorted; of all the largest sets the one whose ids come first.

    Notes
    -----
    O(candidates x (needs + size of the able lists)) where taking people in order reaches a bound, as it does where
    needs or slots alone bind; an integer program of as many yes-or-no variables as candidates otherwise.

    References
    ----------
    .. [1] Edmonds (1971), Mathematical Programming 1, 127-136: the greedy algorithm is best on a matroid.
    """
    people = sorted(set(candidates).difference(holding.leaning_people))
    if not people:
        return ()
    rooms = _get_rooms(holding, people)
    chosen = _take_in_order(holding.matching, people, rooms)
    if len(chosen) < _get_bound(holding.matching, people, rooms):
        chosen = _Program(holding, people, rooms).find(chosen)
    return tuple(chosen)


_Rooms = list[tuple[frozenset[str], int]]


def _get_rooms(holding: Holding, people: list[str]) -> _Rooms:
    """Return the needs that cannot let all go: who of the people is in them, and how many may go."""
    rooms: dict[frozenset[str], int] = {}
    for scope in holding.scopes:
        room = scope.depth - scope.need.minimum
        there = frozenset(scope.present).intersection(people)
        if not scope.is_short and room < len(there):
            rooms[there] = min(room, rooms.get(there, room))
    return list(rooms.items())


def _take_in_order(matching: Matching, people: list[str], rooms: _Rooms) -> list[str]:
    """Return who can go when each is asked in turn, those before them gone."""
    left = Matching(matching.able, list(matching.person_of), dict(matching.slot_of))
    free = [room for _, room in rooms]
    gone: list[str] = []
    for person in people:
        held = [number for number, (there, _) in enumerate(rooms) if person in there]
        if all(free[number] for number in held) and _release(left, person, gone):
            gone.append(person)
            for number in held:
                free[number] -= 1
    return gone


def _release(matching: Matching, person: str, gone: Collection[str]) -> bool:
    """Take someone out of the matching if it keeps its size without them; tell whether it did."""
    slot = matching.slot_of.pop(person, None)
    if slot is None:
        return True
    matching.person_of[slot] = None
    if matching.fill(slot, {person, *gone}):
        return True
    matching.person_of[slot], matching.slot_of[person] = person, slot
    return False


def _get_bound(matching: Matching, people: list[str], rooms: _Rooms) -> int:
    """Return a number that no set which can go exceeds."""
    by_needs = min((room + len(people) - len(there) for there, room in rooms), default=len(people))
    return min(by_needs, len(_take_in_order(matching, people, [])))


class _Program:
    """The most people who can go, as an integer program; people who can fill the same slots share their flow."""

    def __init__(self, holding: Holding, people: list[str], rooms: _Rooms) -> None:
        self._people = people
        self._rooms = rooms
        self._size = holding.matching.size
        kinds = Counter(frozenset(able) for able in holding.matching.able)
        self._demand = list(kinds.values())
        classes: dict[tuple[int, ...], list[str]] = {}
        for person in sorted(frozenset[str]().union(*kinds)):
            classes.setdefault(tuple(n for n, able in enumerate(kinds) if person in able), []).append(person)
        self._classes = list(classes.items())

    def find(self, chosen: list[str]) -> list[str]:
        """Return the best set, whose ids come first; `chosen` is one that can go."""
        best = self._solve({}, 0) or chosen
        most = len(best)
        fixed: dict[str, int] = {}
        for person in self._people:
            fixed[person] = 1
            if person not in best:
                other = self._solve(fixed, most)
                fixed[person], best = (0, best) if other is None else (1, other)
        return best

    def _solve(self, fixed: dict[str, int], least: int) -> list[str] | None:
        """Return the most people who can go where some are fixed; None where that is fewer than `least`."""
        model = LinearModel()
        goes = {
            person: model.add_variable(-1, lower=fixed.get(person, 0), upper=fixed.get(person, 1))
            for person in self._people
        }
        model.add_row([(variable, 1) for variable in goes.values()], lower=least, upper=INFINITY)
        for there, room in self._rooms:
            model.add_row([(goes[person], 1) for person in sorted(there)], lower=-INFINITY, upper=room)
        flows: dict[int, list[int]] = {kind: [] for kind in range(len(self._demand))}
        for able, members in self._classes:
            # with whole numbers of people the flow is whole by itself
            uses = [model.add_variable(0, upper=len(members), is_integer=False) for _ in able]
            for kind, variable in zip(able, uses, strict=True):
                flows[kind].append(variable)
            leaving = [(goes[person], 1) for person in members if person in goes]
            model.add_row([*((v, 1) for v in uses), *leaving], lower=-INFINITY, upper=len(members))
        for kind, demand in enumerate(self._demand):
            model.add_row([(variable, 1) for variable in flows[kind]], lower=-INFINITY, upper=demand)
        model.add_row([(v, 1) for group in flows.values() for v in group], lower=self._size, upper=INFINITY)
        solution = solve_mixed(model)
        if not solution.x:
            return None
        return [person for person in self._people if solution.x[goes[person]] > 0.5]
