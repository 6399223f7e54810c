"""What was worked out for who asked a moment ago is used again for them alone, and only while nothing has changed."""

from __future__ import annotations

import datetime as dt

from access_parts import Clock
from rest_company import build_company
from sqlalchemy import text

from api.access.actor import Actor, Role
from api.access.database import Database
from api.access.recent import Recent
from api.access.sight import Sight, find_none
from api.desk.extents import find_extent
from api.desk.question import PERSON, TEAM, Subject
from api.desk.sights import Sights
from api.desk.states import State
from api.questions import load_question
from ontology.snapshot.snapshot import Snapshot

ON = dt.date(2026, 11, 24)
LEAD = Actor(account=1, roles=frozenset({Role.LEAD}), leads=frozenset({"works"}))
READER = Actor(account=2)


def see(sights: Sights, present: Snapshot, today: dt.date, sight: Sight | None) -> State:
    return sights.see(present, today, sight, lambda: State(present, today))


def test_what_is_seen_is_of_one_sight_one_state_and_one_day() -> None:
    first, second = build_company().get_snapshot(), build_company().get_snapshot()
    sights, sight, other = Sights(), Sight(LEAD, first, ON), Sight(READER, first, ON)
    seen = see(sights, first, ON, sight)
    assert see(sights, first, ON, sight) is seen
    assert (seen.sight, seen.whole) == (sight, first)
    assert see(sights, first, ON, other).snapshot.people == {}
    assert see(sights, first, ON, None).snapshot is first
    assert see(sights, first, ON, sight) is seen
    for present, today in ((second, ON), (first, ON + dt.timedelta(1)), (first, ON)):
        new = see(sights, present, today, sight)
        assert (new.whole, new.today) == (present, today)
        assert new is not seen, "what was kept went with its state"


def test_who_is_known_again_is_made_of_their_rights_the_state_and_the_day_and_for_half_a_minute() -> None:
    first, second = build_company().get_snapshot(), build_company().get_snapshot()
    database, clock, built = Database(None), Clock(1000.0), list[str]()
    recent = Recent(database, clock, find_none)
    actors = {"lead": LEAD, "reader": READER, "stranger": Actor()}

    def get(who: str, present: Snapshot = first, today: dt.date = ON, ends: float = 1e9) -> Sight:
        def build() -> tuple[Actor, float]:
            built.append(who)
            return actors[who], ends

        return recent.get(who, present, today, build)

    lead, reader = get("lead"), get("reader")
    assert (lead.actor, lead.present, lead.today, reader.actor) == (LEAD, first, ON, READER)
    assert [get("lead"), get("reader")] == [lead, reader]
    assert built == ["lead", "reader"]
    clock.now += 31
    assert get("lead") is lead, "built again, and the same"
    assert built == ["lead", "reader", "lead"]
    actors["lead"] = READER
    clock.now += 31
    assert get("lead").actor == READER
    for change in (lambda: database.change(text("UPDATE grants SET role = ''")), lambda: None):
        change()
        known = get("reader", ends=clock.now + 1)
        assert get("reader") is known
    assert known is not reader, "rights have changed"
    assert get("reader", second).present is second
    assert get("reader", today=ON + dt.timedelta(1)).today == ON + dt.timedelta(1)
    assert get("reader", ends=clock.now + 1).actor is READER
    clock.now += 2
    actors["reader"] = Actor()
    assert not get("reader").actor.is_signed_in, "it ended by itself"
    before = len(built)
    assert not any(get("stranger").actor.is_signed_in for _ in range(2))
    assert len(built) == before + 2, "a stranger is asked each time"
    assert recent.get("", first, ON, lambda: (LEAD, 1e9)).actor == Actor(), "who brings nothing is nobody"


def test_what_one_may_ask_is_found_out_for_each_actor_subject_and_role() -> None:
    graph = build_company()
    sights = Sights()
    cover, gap = load_question("coverage"), load_question("gap")
    explored = gap.asks[PERSON](role="chief")
    for _ in range(2):
        found = {}
        for actor in (LEAD, READER):
            state = see(sights, graph.get_snapshot(), ON, Sight(actor, graph.get_snapshot(), ON))
            asked = ((cover, Subject(TEAM, "works"), None), (gap, Subject(PERSON, "p1"), None))
            asked = (*asked, (gap, Subject(PERSON, "p1"), explored))
            found[actor.account] = [find_extent(actor, state, *one) for one in asked]
            assert find_extent(Actor(account=3), state, *asked[0]) is None, "another one than the state is of"
        assert found == {1: ["rows", "rows", None], 2: [None, None, None]}
