"""What changed in a team since a state: needs, single points, places, absences survived; and why."""

from __future__ import annotations

from api.access.rights import Kind
from api.desk.columns import build_table, number, words
from api.desk.named_states import NamedStates
from api.desk.names import Names, count, join_names
from api.desk.question import TEAM, Question, Subject
from api.desk.sheet import Next, Sheet, Table
from api.questions import _cautions as cautions
from api.questions._changes import TOUCHES, AskChanges, read_between, say_since, say_why
from api.questions._words import show_state
from ontology.analysis.cover.coverage import STATES
from ontology.analysis.effect.team_changes import NeedChange, TeamChanges, find_team_changes
from ontology.snapshot.snapshot import Snapshot


def compute(snapshot: Snapshot, team: Subject, asked: AskChanges, states: NamedStates) -> TeamChanges:
    """Return what changed: the state before on its own day, the one that is asked on the day asked."""
    return find_team_changes(read_between(snapshot, asked, states), team.id)


def show(result: TeamChanges, subject: Subject, asked: AskChanges, names: Names) -> Sheet:
    """Return every difference with its reasons."""
    points = [(row, "rests on them now") for row in result.single_points.gained]
    points += [(row, "no longer") for row in result.single_points.lost]
    day, since = {"on": str(result.on)}, say_since(result.since, result.before_on)
    return Sheet(
        title=f"What changed in {names.team(result.team)} since {since}, {result.on}",
        lead=tell_team_changes(result, names),
        parts=(
            build_table(
                "Needs that stand otherwise",
                result.needs,
                (
                    words("need", lambda row: names.ref("competencies", row.competency)),
                    number("level", lambda row: row.level),
                    words("where", lambda row: _say_where(row, names)),
                    words("then", lambda row: show_state(row.state_before) if row.state_before else "not asked"),
                    words("now", lambda row: show_state(row.state_after) if row.state_after else "not asked"),
                    number("present then", lambda row: row.depth_before),
                    number("present now", lambda row: row.depth_after),
                    words("why", lambda row: say_why(row.why)),
                ),
                "Every need stands as it did.",
            ),
            build_table(
                "On whom alone something rests",
                points,
                (
                    words("person", lambda pair: names.ref("people", pair[0].id)),
                    words("what changed", lambda pair: pair[1]),
                    words("why", lambda pair: say_why(pair[0].why)),
                ),
                "The same people as then.",
            ),
            _build_numbers(result),
        ),
        next=(
            Next("Cover on the day", "coverage", result.team, day),
            Next("What changes in the next weeks", "coverage-timeline", result.team, day),
        ),
    )


def _say_where(row: NeedChange, names: Names) -> str:
    return {"team": "team", "each-shift": "each shift"}.get(row.applies) or names.shift(row.applies)


def _build_numbers(result: TeamChanges) -> Table:
    rows = [("places filled", result.places_filled), ("absences survived", result.tolerance)]
    changed = [(name, change) for name, change in rows if change.before != change.after]
    return build_table(
        "Places and absences",
        changed,
        (
            words("what", lambda pair: pair[0]),
            words("then", lambda pair: _say_figure(pair[1].before)),
            words("now", lambda pair: _say_figure(pair[1].after)),
            words("why", lambda pair: say_why(pair[1].why)),
        ),
        "As many places are filled, and as many absences survived.",
        "Absences survived cannot be told while something is broken already.",
    )


def _say_figure(value: int | None) -> str:
    return "–" if value is None else str(value)


def tell_team_changes(result: TeamChanges, names: Names) -> str:
    """Return what stands otherwise, the worse first, in one sentence."""
    since = say_since(result.since, result.before_on)
    parts = [part for part in (*_tell_needs(result), *_tell_points(result), *_tell_numbers(result)) if part]
    if not parts:
        return f"In {names.team(result.team)} everything stands as on {since}."
    return f"In {names.team(result.team)} since {since}: {join_names(parts)}."


def _tell_needs(result: TeamChanges) -> list[str]:
    pairs = [(row.state_before, row.state_after) for row in result.needs]
    both = [(old, new) for old, new in pairs if old is not None and new is not None]
    n_worse = sum(STATES.index(new) < STATES.index(old) for old, new in both)
    n_new, n_gone = sum(old is None for old, _ in pairs), sum(new is None for _, new in pairs)
    parts = [
        (n_worse, "need stands worse", "needs stand worse"),
        (len(both) - n_worse, "need stands better", "needs stand better"),
        (n_new, "need is new", "needs are new"),
        (n_gone, "need is no longer asked", "needs are no longer asked"),
    ]
    return [count(n, one, many) for n, one, many in parts if n]


def _tell_points(result: TeamChanges) -> list[str]:
    gained, lost = len(result.single_points.gained), len(result.single_points.lost)
    told = []
    if gained:
        told.append(f"something newly rests on {count(gained, 'person', 'people')} alone")
    if lost:
        told.append(f"nothing rests any more on {count(lost, 'person', 'people')} alone")
    return told


def _tell_numbers(result: TeamChanges) -> list[str]:
    told = []
    for change, one, many, verb in (
        (result.places_filled, "place", "places", "filled"),
        (result.tolerance, "absence", "absences", "survived"),
    ):
        if change.before is not None and change.after is not None and change.before != change.after:
            by = change.after - change.before
            is_one, more = abs(by) == 1, "more" if by > 0 else "fewer"
            told.append(f"{abs(by)} {more} {one if is_one else many} {'is' if is_one else 'are'} {verb}")
    return told


QUESTION = Question(
    asks={TEAM: AskChanges},
    answers=TeamChanges,
    compute=compute,
    cautions=(TOUCHES, cautions.NO_REASON_TO_REFUSE, cautions.NO_ROSTER_LAW, cautions.NO_AUTHORISATION),
    needs=Kind.TEAM_ANSWERS,
    is_in_main=True,
    show=show,
    no_figures="It is about changes of single people: told to those who lead the team, or state a purpose for it.",
    segment="changes",
)
