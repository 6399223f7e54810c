"""The effect of a draft for who sees figures: named are those alone whose standing they may see.

A number is told where it counts enough people besides those who are named: nobody else can be worked out of it.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any, Final, TypeVar

from api.access.check import decide
from api.access.figures import HiddenFigure
from api.access.rights import Kind
from api.access.sight import Sight
from api.questions.framework._effect_record import DraftEffect
from ontology.analysis.effect.results import GroupEffect, PathEffect, RoleEffect, TeamEffect

if TYPE_CHECKING:
    from _typeshed import DataclassInstance

_R = TypeVar("_R", bound="DataclassInstance")

_OF_PATHS: Final = ("people", "longer", "shorter", "impossible", "possible")


def keep_named(result: DraftEffect, sight: Sight | None, least: int, is_all: bool) -> DraftEffect:
    """Return an effect with those named whom the actor may see (None: nobody), and no figure of fewer than `least`.

    `is_all`: no number is told, for of another day than today it would tell who came or went.
    """
    return _Keeper(sight, least, is_all).keep(result)


class _Keeper:
    def __init__(self, sight: Sight | None, least: int, is_all: bool) -> None:
        self.sight, self.least, self.is_all = sight, least, is_all

    def keep(self, result: DraftEffect) -> DraftEffect:
        return replace(
            result,
            roles=tuple(self._keep_role(row) for row in result.roles),
            levels=tuple(self._hide(row, "people_up", "people_down") for row in result.levels),
            paths=tuple(self._hide_path(row) for row in result.paths),
            teams=tuple(row if self._sees_team(row.id) else self._hide_team(row) for row in result.teams),
        )

    def _may_name(self, person: str, role: str) -> bool:
        """Whether a person is seen, and the role is one they hold or one of a place of their team."""
        if self.sight is None:
            return False
        right = self.sight.build_right(Kind.STANDING, person=person)
        return decide(self.sight.actor, right) == "rows" and self.sight.is_of_standing(person, role)

    def _sees_team(self, team: str) -> bool:
        if self.sight is None:
            return False
        return decide(self.sight.actor, self.sight.build_right(Kind.TEAM_ANSWERS, team=team)) == "rows"

    def _tell(self, value: Any, n_named: int = 0) -> Any:
        """Return a number, or what stands for it where it counts too few besides those named."""
        if value is None or (not self.is_all and value - n_named >= self.least):
            return value
        return HiddenFigure() if self.is_all else HiddenFigure(self.least - 1, f"under {self.least}")

    def _hide(self, row: _R, *names: str) -> _R:
        changed: dict[str, Any] = {name: self._tell(getattr(row, name)) for name in names}
        return replace(row, **changed)

    def _keep_role(self, row: RoleEffect) -> RoleEffect:
        everyone, holders = (self._keep_group(group, row.id) for group in (row.everyone, row.holders))
        return replace(row, everyone=everyone, holders=holders)

    def _keep_group(self, group: GroupEffect, role: str) -> GroupEffect:
        changed: dict[str, Any] = {}
        for which in ("started", "stopped"):
            named = {
                standing: tuple(person for person in people if self._may_name(person, role))
                for standing, people in getattr(group, which).items()
            }
            numbers = getattr(group, f"{which}_people")
            changed[which] = named
            changed[f"{which}_people"] = {
                standing: self._tell(n, len(named[standing])) for standing, n in numbers.items()
            }
        return self._hide(replace(group, **changed), "people", "readiness_up", "readiness_down")

    def _hide_path(self, row: PathEffect) -> PathEffect:
        """Return the paths of few people without their hours; what is from nothing is of nobody."""
        if row.from_ == "nothing":
            return row
        hidden = self._hide(row, *_OF_PATHS)
        if isinstance(hidden.people, HiddenFigure):
            hidden = replace(hidden, hours_before=HiddenFigure(), hours_after=HiddenFigure())
        return hidden

    def _hide_team(self, row: TeamEffect) -> TeamEffect:
        """Return a team whose people may not be seen: states, and no figure of few."""
        points = replace(row.single_points, gained=(), lost=())
        return replace(
            row,
            needs=tuple(self._hide(need, "depth_before", "depth_after") for need in row.needs),
            single_points=self._hide(points, "gained_people", "lost_people"),
            places_filled=self._hide(row.places_filled, "before", "after"),
            tolerance=self._hide(row.tolerance, "before", "after"),
        )
