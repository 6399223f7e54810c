"""Who of those present fills which of a team's places at once, and which stay empty."""

from __future__ import annotations

from api.access.rights import Kind
from api.desk.names import Names
from api.desk.question import TEAM, InFigures, Question, Subject, by_names
from api.desk.sheet import Next, Note, Sheet
from api.questions import _cautions as cautions
from api.questions._asks import AskAboutTeam
from api.questions._figures import hide_slots, show_filled_in_figures
from api.questions.team._places import show_places, tell_bottleneck, tell_filled
from ontology.analysis.places.filling import FilledPlaces, compute_filled_places


def show(result: FilledPlaces, subject: Subject, asked: AskAboutTeam, names: Names) -> Sheet:
    """Return who fills what, and why some of it stays empty."""
    only = (f"Only {names.person(row.person)} can fill {names.place(row.place)}." for row in result.only_one_can)
    return Sheet(
        title=f"Places of {names.team(result.team)}, {result.on}",
        lead=" ".join(filter(None, (tell_filled(result), tell_bottleneck(result, names)))),
        parts=(*show_places(result, names), *map(Note, only)),
        next=(
            Next("What falls without whom", "staffing", result.team, asked.texts),
            Next("Cover", "coverage", result.team, asked.texts),
        ),
    )


QUESTION = Question(
    asks={TEAM: AskAboutTeam},
    answers=FilledPlaces,
    compute=by_names(compute_filled_places),
    cautions=cautions.OF_PLACES,
    needs=Kind.TEAM_ANSWERS,
    show=show,
    figures=InFigures(
        lambda result, _, asked, names: show_filled_in_figures(
            result, names, f"Places of {names.team(result.team)} filled at the most, {result.on}"
        ),
        prepare=hide_slots,
    ),
)
