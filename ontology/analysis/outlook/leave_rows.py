"""What a leave check tells: what would not hold while someone is away, who could stand in, when nothing breaks."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Annotated, Literal

from ontology.analysis.places.holding import FallenNeed
from ontology.analysis.places.slots import TogetherNeed
from ontology.model.identity import PersonId

__all__ = ["FreeSpan", "LeaveBreak", "LeaveCheckResult", "LeaveDuty", "LeaveStandIn"]


@dataclass(frozen=True, slots=True)
class LeaveStandIn:
    """Someone who is there and qualifies on some days, and what would not hold in their own team without them."""

    person: Annotated[PersonId, "Id of the person."]
    team: Annotated[str, "Their team that day."]
    shift: Annotated[str | None, "Their shift; null for none."]
    from_date: Annotated[date, "First day on which they could."]
    to_date: Annotated[date, "Last day on which they could, leaving the same behind."]
    leaves_needs: Annotated[tuple[FallenNeed, ...], "Needs of their own team that would be short."]
    leaves_places: Annotated[tuple[str, ...], "Places there, once for every slot, that would be empty."]
    leaves_together: Annotated[tuple[TogetherNeed, ...], "Slots of groups there that would be empty."]


@dataclass(frozen=True, slots=True)
class LeaveBreak:
    """Something that holds with the person and would not without, on days in a row."""

    kind: Annotated[Literal["need", "place", "together"], "need, place, or together: a slot of a group."]
    competency: Annotated[str | None, "Of a need: id of the competency."]
    level: Annotated[int | None, "The level needed."]
    applies: Annotated[str | None, "team, each-shift, or the id of one shift."]
    place: Annotated[str | None, "Id of the place."]
    together: Annotated[str | None, "The group."]
    shift: Annotated[str | None, "Where; null for the team."]
    slots: Annotated[int, "How many slots would be empty; 1 for a need."]
    from_date: Annotated[date, "First day."]
    to_date: Annotated[date, "Last day."]
    stand_ins: Annotated[
        tuple[LeaveStandIn, ...], "Who could stand in when: own team first, then by team and id; no ranking."
    ]


@dataclass(frozen=True, slots=True)
class LeaveDuty:
    """A duty on days of the leave: the person's own, or one they are to watch over."""

    place: Annotated[str, "Id of the place."]
    person: Annotated[PersonId, "Who stands there."]
    supervised_by: Annotated[PersonId | None, "Who watches over them; null for nobody."]
    from_date: Annotated[date, "First day of it within the leave."]
    to_date: Annotated[date, "Last day of it within the leave."]


@dataclass(frozen=True, slots=True)
class FreeSpan:
    """Days in a row, as many as asked for, on which nothing would break."""

    from_date: Annotated[date, "First day."]
    to_date: Annotated[date, "Last day."]


@dataclass(frozen=True, slots=True)
class LeaveCheckResult:
    """What someone's leave would break in a team, day by day."""

    team: Annotated[str, "The team."]
    person: Annotated[PersonId, "Who would be away."]
    on: Annotated[date, "The day asked about."]
    from_date: Annotated[date, "First day of the leave."]
    to_date: Annotated[date, "Last day of the leave."]
    days: Annotated[int, "Calendar days of it."]
    days_breaking: Annotated[int, "Days on which something would break."]
    weeks: Annotated[int, "How many weeks before and after other days were looked for."]
    breaks: Annotated[tuple[LeaveBreak, ...], "What holds with the person and would not without."]
    duties: Annotated[tuple[LeaveDuty, ...], "Duties on these days: their own, and those they watch over."]
    free_before: Annotated[FreeSpan | None, "The nearest days before, as many in a row, on which nothing would break."]
    free_after: Annotated[FreeSpan | None, "The nearest days after, as many in a row, on which nothing would break."]
    remarks: Annotated[tuple[str, ...], "What else should be known."]
