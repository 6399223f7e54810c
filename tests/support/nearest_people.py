"""The greedy peer: need by need, the person whose own learning path to it is shortest, until the need has enough.

Uses the search for one path, which has its own tests, and nothing of the plan for a team.
"""

from __future__ import annotations

from datetime import date

from ontology.analysis.cover.coverage import build_need_scopes
from ontology.analysis.cover.presence import get_presence
from ontology.analysis.engine.landmarks import solve_cheapest_plan
from ontology.analysis.paths.aims import get_minutes
from ontology.analysis.paths.catalogue import Stage, build_staged_problem
from ontology.analysis.paths.offers import build_catalogue, take_offers
from ontology.analysis.profiles.profile import build_profile
from ontology.snapshot.snapshot import Snapshot


def plan_nearest_people(snapshot: Snapshot, team_id: str, on: date) -> tuple[int, int]:
    """Return the people still missing and the minutes of learners and coaches.

    What somebody has learned for one need is theirs for the next.
    """
    presence = get_presence(snapshot, team_id, on)
    profiles = {person.id: build_profile(snapshot, person.id, on) for person in presence.members}
    levels = {person_id: dict(profile.levels) for person_id, profile in profiles.items()}
    missing = minutes = 0
    for scope in build_need_scopes(presence):
        fact = (scope.need.competency, scope.need.level)
        people = [p.id for p in presence.get_scope(scope.shift)] if scope.has_scope else []
        lacking = [p for p in people if levels[p].get(fact[0], 0) < fact[1]]
        wanted = scope.need.target - (len(people) - len(lacking))
        paths = []
        for person_id in lacking if wanted > 0 else []:
            catalogue = build_catalogue(snapshot, profiles[person_id])
            staged = build_staged_problem(catalogue, [Stage(levels[person_id], frozenset({fact}))])
            found = solve_cheapest_plan(staged.problem, lexicographic=False)
            if found.status == "optimal":
                offers = [staged.operators[operator][0] for operator in found.operators]
                total = sum(o.minutes + get_minutes(snapshot.courses[o.id].coach_hours) for o in offers)
                paths.append((total, person_id, offers))
        chosen = sorted(paths, key=lambda path: path[:2])[: max(0, wanted)]
        for total, person_id, offers in chosen:
            levels[person_id] = take_offers(offers, levels[person_id])
            minutes += total
        missing += max(0, wanted - len(chosen))
    return missing, minutes
