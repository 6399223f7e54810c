"""Routes whose time is over at any moment: what is told as proved is what more time would tell."""

from __future__ import annotations

import pytest
from route_cases import START, build_company

import ontology.analysis.routes.routes as routes_module
from ontology.analysis.engine.deadline import Deadline
from ontology.analysis.routes.routes import find_routes
from ontology.snapshot.snapshot import Snapshot


class CountingDeadline(Deadline):
    """A deadline that is over once it was asked a number of times: the same moment on every machine."""

    def __init__(self, count: int) -> None:
        super().__init__(None)
        self.left = count

    def get_remaining_s(self) -> float | None:
        """Return no limit until it is over."""
        return 0.0 if self.is_over() else None

    def is_over(self) -> bool:
        """Tell whether it was asked often enough."""
        self.left -= 1
        return self.left < 0


def test_what_is_told_as_proved_does_not_depend_on_when_time_was_over(monkeypatch: pytest.MonkeyPatch) -> None:
    def build_small() -> Snapshot:
        # two courses of equal hours, the dearer one first by id: which is told hangs on settling the tie
        return build_company(
            {"t": "a:2 b:1", "m": "a:1-2 c:1", "n": "b:1 c:1"},
            {
                "a-dear": (5, "", "a:1 c:1"),
                "b-cheap": (5, "", "a:1 c:1"),
                "x": (8, "", "b:1"),
                "y": (20, "", "a:2 b:1"),
            },
        )

    full = find_routes(build_small(), START, "t")
    statuses = []
    for count in range(200):
        monkeypatch.setattr(routes_module, "Deadline", lambda _, count=count: CountingDeadline(count))
        found = find_routes(build_small(), START, "t")
        statuses.append(found.status)
        assert found.status == "feasible" or found == full, count
    assert statuses[0] == "feasible"
    assert statuses[-1] == full.status == "optimal"
