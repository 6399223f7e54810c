"""How deep each cover need of a team is on a day, who is present and who is absent."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from api.access.rights import Kind
from api.desk.columns import Filled, build_table, number, words
from api.desk.names import Names, join_names
from api.desk.question import TEAM, InFigures, Question, Subject, by_names
from api.desk.sheet import Fact, Next, Sheet
from api.pictures.pictures import draw_coverage
from api.questions import _cautions as cautions
from api.questions._asks import AskAboutTeam
from api.questions._figures import leave_out
from api.questions._words import show_state
from api.questions.team._cover import tell_cover
from ontology.analysis.cover.coverage import CoverageResult, CoverageRow, ShiftCover
from ontology.analysis.outlook.cover_of_day import compute_cover_of_day
from ontology.analysis.places.single_points import find_single_points_of_failure
from ontology.snapshot.snapshot import Snapshot


def show(result: CoverageResult, subject: Subject, asked: AskAboutTeam, names: Names) -> Sheet:
    """Return every need where it counts: each shift of a need for each shift."""
    away = {"away": ",".join(result.away)} if result.away else {}
    day = {"on": str(result.on)}
    return Sheet(
        title=f"Cover of {names.team(result.team)}, {result.on}"
        + (f", supposed away: {join_names(map(names.person, result.away))}" if result.away else ""),
        lead=tell_cover(result, names),
        facts=(Fact("Absent", names.refs("people", result.absent, "nobody")),),
        parts=(
            build_table(
                "Needs",
                [(need, row) for need in result.needs for row in need.shifts or (need,)],
                (
                    words("need", lambda pair: names.ref("competencies", pair[0].competency)),
                    number("level", lambda pair: pair[0].level),
                    words("where", lambda pair: names.ref("shifts", pair[1].shift) if pair[1].shift else "team"),
                    number("present", lambda pair: pair[1].depth),
                    number("minimum", lambda pair: pair[0].minimum),
                    number("target", lambda pair: pair[0].target),
                    number("criticality", lambda pair: pair[0].criticality, "1 to 5"),
                    words("state", lambda pair: show_state(pair[1].state)),
                    words("who is present", lambda pair: names.refs("people", pair[1].present)),
                    words("who is absent", lambda pair: names.refs("people", _list_absent(pair[1]))),
                    *_list_appointments(result, names),
                ),
                "The team has no cover needs: say what it must be able to do.",
            ),
        ),
        next=(
            Next("Who can fill the places at once", "staffing", result.team, day | away),
            Next("What changes in the next weeks", "coverage-timeline", result.team, day),
            Next("Whom to train", "cross-training", result.team, day),
        ),
    )


def _list_absent(row: CoverageRow | ShiftCover) -> list[str]:
    return [person for person in row.qualified if person not in (*row.present, *row.not_appointed)]


def _list_appointments(
    result: CoverageResult, names: Names
) -> Iterator[Filled[tuple[CoverageRow, CoverageRow | ShiftCover]]]:
    """Yield a column of those who do not count for want of an appointment, where there are any."""
    if any(need.not_appointed or any(row.not_appointed for row in need.shifts) for need in result.needs):
        yield words("able, not appointed", lambda pair: names.refs("people", pair[1].not_appointed))


def draw(snapshot: Snapshot, team: Subject, asked: AskAboutTeam, result: CoverageResult, **layout: Any) -> str:
    """Return the picture of the cover, with those on whom alone something rests."""
    points = find_single_points_of_failure(snapshot, team.id, asked.on, asked.away)
    return draw_coverage(snapshot, result, points, **layout)


QUESTION = Question(
    asks={TEAM: AskAboutTeam},
    answers=CoverageResult,
    compute=by_names(compute_cover_of_day),
    cautions=cautions.OF_WORK,
    needs=Kind.TEAM_ANSWERS,
    show=show,
    draw=draw,
    figures=InFigures(
        lambda *told: leave_out(show(*told), "Absent", "who is present", "who is absent", "able, not appointed")
    ),
)
