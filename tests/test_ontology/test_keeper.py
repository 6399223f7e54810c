"""What analyses derive from a Snapshot is built once and goes with it."""

from __future__ import annotations

from datetime import date
from threading import Barrier, Thread
from weakref import ref

from companies import build_company

from ontology.analysis.cover.coverage import compute_coverage
from ontology.analysis.cover.holders import get_assessed_people
from ontology.analysis.profiles.gap import compute_gap
from ontology.analysis.profiles.profile import build_profile
from ontology.analysis.profiles.similarity import find_similar_roles
from ontology.analysis.routes.moves import find_reachable_roles
from ontology.snapshot.keeper import Keeper
from ontology.snapshot.snapshot import Snapshot

ON = date(2026, 11, 24)


def test_what_is_kept_is_built_once_for_each_key() -> None:
    keeper, built = Keeper(), list[str]()
    for key in ("a", "b", "a", "b"):
        assert keeper.keep(key, lambda key=key: built.append(key)) is None  # type: ignore[misc, func-returns-value]
    assert built == ["a", "b"]


def test_threads_that_build_at_once_get_the_same() -> None:
    keeper, both, found = Keeper(), Barrier(2), list[object]()

    def build() -> object:
        both.wait(20)
        return object()

    threads = [Thread(target=lambda: found.append(keeper.keep("key", build))) for _ in range(2)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert found[0] is found[1]


def test_a_snapshot_that_was_asked_everything_goes_as_soon_as_nobody_holds_it() -> None:
    """Nothing that is kept holds the Snapshot: no cycle has to be found first, which a large graph would wait for."""
    snapshot = Snapshot(build_company(3))
    for role in snapshot.roles:
        find_similar_roles(snapshot, role)
        for person in snapshot.people:
            compute_gap(snapshot, role, person_id=person, on=ON)
    for team in snapshot.teams:
        compute_coverage(snapshot, team, ON)
    for competency in snapshot.competencies:
        get_assessed_people(snapshot, competency)
    find_reachable_roles(snapshot, build_profile(snapshot, next(iter(snapshot.people)), ON))
    left = ref(snapshot)
    del snapshot
    assert left() is None
