"""What was worked out for who asked a moment ago is used again for them alone, and only while nothing has changed."""

from __future__ import annotations

import datetime as dt

from rest_company import build_company

from api.access.actor import Actor, Role
from api.access.sight import Sight
from api.desk.extents import find_extent
from api.desk.question import PERSON, TEAM, Subject
from api.desk.sights import Sights
from api.desk.states import State
from api.questions import load_question
from ontology.snapshot.snapshot import Snapshot

ON = dt.date(2026, 11, 24)
LEAD = Actor(account=1, roles=frozenset({Role.LEAD}), leads=frozenset({"works"}))
READER = Actor(account=2)


def see(sights: Sights, present: Snapshot, today: dt.date, sight: Sight) -> State:
    return sights.see(present, today, sight, lambda: State(present, today))


def test_a_sight_and_its_state_are_of_one_actor_one_state_and_one_day() -> None:
    first, second = build_company().get_snapshot(), build_company().get_snapshot()
    sights = Sights()
    sight = sights.get(LEAD, first, ON)
    seen = see(sights, first, ON, sight)
    assert sights.get(LEAD, first, ON) is sight
    assert see(sights, first, ON, sight) is seen
    assert (seen.sight, seen.whole) == (sight, first)
    other = sights.get(READER, first, ON)
    assert see(sights, first, ON, other).snapshot.people == {}
    assert see(sights, second, ON, sight).whole is second
    assert see(sights, first, ON + dt.timedelta(1), sight).today == ON + dt.timedelta(1)
    for present, today in ((second, ON), (first, ON + dt.timedelta(1)), (first, ON)):
        new = sights.get(LEAD, present, today)
        assert new is not sight
        assert see(sights, present, today, new).whole is present
        assert see(sights, first, ON, sight) is not seen, "what was kept went with its state"


def test_what_one_may_ask_is_found_out_for_each_actor_subject_and_role() -> None:
    graph = build_company()
    sights = Sights()
    cover, gap = load_question("coverage"), load_question("gap")
    explored = gap.asks[PERSON](role="chief")
    for _ in range(2):
        found = {}
        for actor in (LEAD, READER):
            state = see(sights, graph.get_snapshot(), ON, sights.get(actor, graph.get_snapshot(), ON))
            asked = ((cover, Subject(TEAM, "works"), None), (gap, Subject(PERSON, "p1"), None))
            asked = (*asked, (gap, Subject(PERSON, "p1"), explored))
            found[actor.account] = [find_extent(actor, state, *one) for one in asked]
            assert find_extent(Actor(account=3), state, *asked[0]) is None, "another one than the state is of"
        assert found == {1: ["rows", "rows", None], 2: [None, None, None]}
