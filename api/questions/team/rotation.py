"""A rotation of people through places in which every place is always filled by someone able."""

from __future__ import annotations

import datetime as dt
import re
from dataclasses import dataclass
from typing import Final

from api.access.rights import Kind
from api.desk.columns import build_table, number, words
from api.desk.kinds import PersonIds, PersonPlaces, PlaceIds
from api.desk.names import Names, count, join_names
from api.desk.parameters import param
from api.desk.question import TEAM, InFigures, Question, Subject, get_by_names
from api.desk.sheet import Note, Sheet, Table
from api.questions import _cautions as cautions
from api.questions._asks import AskAboutTeam, AskSlowly
from ontology.analysis.rotation.rotation import RotationResult, plan_rotation
from ontology.analysis.rotation.rotation_asked import RotationAsked
from ontology.analysis.rotation.rotation_problem import Purpose
from ontology.analysis.rotation.rotation_reasons import RotationReason
from ontology.snapshot.snapshot import Snapshot

_ROTATION: Final = (
    "A rotation shown here is a draft to talk over, no roster: rest, working hours, fitness for the work, "
    "instruction at each workplace and the consent of the people in it are not computed here."
)
_BESIDE: Final = (
    "Learning beside someone makes nobody able: the level counts once it is assessed, and until then the holder "
    "answers for the work."
)

#: Intervals named in the first sentence at the most.
_NAMED: Final = 4


@dataclass(frozen=True, kw_only=True)
class AskRotation(AskAboutTeam, AskSlowly):
    """For what, when, with whom."""

    from_date: dt.date | None = param("First day of the period (default: `on`).", default=None, name="from")
    purpose: Purpose = param("What the rotation is for.")
    until: dt.date | None = param("Last day of the period, instead of `intervals`.", default=None)
    intervals: int | None = param("How many intervals (default: 6).", default=None, minimum=1, maximum=60)
    interval_weeks: int = param("Weeks of an interval.", default=4, minimum=1, maximum=52, unit="weeks")
    minimum_stay: int = param(
        "Intervals someone stays at a place at the least.", default=1, minimum=1, maximum=60, unit="intervals"
    )
    maximum_stay: int | None = param(
        "And at the most (default: no limit).", default=None, minimum=1, maximum=60, unit="intervals"
    )
    practice: int | None = param(
        "learn: intervals each learner stands beside a holder; keep-current: intervals everyone able holds a place of "
        "each role they can do (default: 1, or what the competencies want a year).",
        default=None,
        minimum=1,
        maximum=60,
        unit="intervals",
    )
    people: PersonIds = param("Who takes part (default: all members).", default=frozenset())
    places: PlaceIds = param("Which places (default: all).", default=frozenset())
    renewals: bool = param(
        "Whether what someone is able to do on the first day is taken as renewed before it lapses.", default=False
    )
    learners: PersonPlaces = param(
        "learn: who learns, each with or without the place to learn, like p1,p2:desk (default: everyone not able for "
        "any place, at the place they lack least for).",
        default=frozenset(),
    )

    # an unknown place is told by the analysis, which knows the team's
    UNCHECKED = frozenset({"places"})


def compute(snapshot: Snapshot, team: Subject, asked: AskRotation) -> RotationResult:
    """Return the rotation, or why there is none."""
    given = get_by_names(asked, {"from_date": "start", "renewals": "has_renewals"})
    given["start"] = given["start"] or asked.on
    time_limit_s = given.pop("time_limit_s")
    return plan_rotation(snapshot, team.id, RotationAsked(**given), time_limit_s=time_limit_s)


def show(result: RotationResult, subject: Subject, asked: AskRotation, names: Names) -> Sheet:
    """Return who holds which place in which interval, what it means for each person, or why there is no rotation."""
    purpose = result.purpose.replace("-", " ")
    return Sheet(
        title=f"Rotation of {names.team(result.team)} to {purpose}, {result.start} to {result.end}",
        lead=_tell(result),
        parts=(*(Note(_tell_reason(reason, names)) for reason in result.reasons), *_show_plan(result, names)),
    )


def _tell_reason(reason: RotationReason, names: Names) -> str:
    """Return a reason with records by their names; its own words tell ids."""
    called = {place: names.place(place) for place in reason.places}
    called |= {person: names.person(person) for person in (*reason.people, *reason.not_there)}
    for lapse in reason.lapsed:
        what = f"{names.person(lapse.person)} ({names.competency(lapse.competency)})"
        called[f"{lapse.person} {lapse.competency}"] = what
    if not called:
        return reason.reason
    ids = "|".join(map(re.escape, sorted(called, key=len, reverse=True)))
    return re.sub(rf"(?<![\w-])({ids})(?![\w-])", lambda match: called[match[1]], reason.reason)


def _tell(result: RotationResult) -> str:
    if result.status == "infeasible":
        short = [reason.interval for reason in result.reasons if reason.rule == "able-people"]
        why = f": too few people are able in {_name_intervals(short)}" if short else ""
        return f"No rotation fills every place as asked{why}."
    if result.status == "unknown":
        return "The time limit struck before a rotation was found."
    if result.status == "nothing-to-do":
        return "There are no places to rotate through."
    moves = count(result.moves or 0, "move")
    if result.status == "optimal":
        return f"{moves}, and none does with fewer."
    return f"{moves}, the best found when the time limit struck; none does with fewer than {result.lower_bound}."


def _name_intervals(intervals: list[int | None]) -> str:
    if len(intervals) > _NAMED:
        return f"{len(intervals)} intervals, the first of them interval {intervals[0]}"
    return ("interval " if len(intervals) == 1 else "intervals ") + join_names(map(str, intervals))


def _show_plan(result: RotationResult, names: Names) -> tuple[Table, ...]:
    if not result.rows:
        return ()
    return (
        build_table(
            "Interval by interval",
            result.rows,
            (
                number("interval", lambda row: row.interval),
                words("from", lambda row: row.start),
                words("until", lambda row: row.end),
                words("place", lambda row: names.place(row.place)),
                words("held by", lambda row: names.ref("people", row.person)),
                words("beside them learns", lambda row: names.refs("people", row.learners)),
            ),
        ),
        build_table(
            "Person by person",
            result.people,
            (
                words("person", lambda row: names.ref("people", row.person)),
                words("places", lambda row: join_names(map(names.place, row.places)) or "–"),
                number("held", lambda row: row.intervals_held, "intervals"),
                number("learning", lambda row: row.intervals_learning, "intervals"),
                number("strain", lambda row: row.strain),
                number("moves", lambda row: row.moves),
                words("not there in intervals", lambda row: ", ".join(map(str, row.not_there)) or "–"),
            ),
        ),
    )


QUESTION = Question(
    asks={TEAM: AskRotation},
    answers=RotationResult,
    compute=compute,
    cautions=(_ROTATION, _BESIDE, cautions.NO_ROSTER_LAW, cautions.NO_AUTHORISATION, cautions.CONSENT, cautions.BASIS),
    needs=Kind.TEAM_ANSWERS,
    show=show,
    is_slow=True,
    figures=InFigures(show, refuses=frozenset({"from", "until", "places"})),
)
