"""Who keeps in practice for a team's cover needs, who falls below soon, and what is left to share."""

from __future__ import annotations

from api.access.rights import Kind
from api.desk.columns import build_table, number, words
from api.desk.names import Names, count, join_names
from api.desk.question import TEAM, InFigures, Question, Subject, by_names
from api.desk.sheet import Fact, Next, Sheet, Span, State
from api.questions import _cautions as cautions
from api.questions._asks import AskOnDay
from ontology.analysis.cover.team_practice import NeedPractice, PracticeResult, find_team_practice

_STATES = {
    "below": ("too little", "less in these months than keeps current; cover does not change by it"),
    "soon": ("soon too little", "less than keeps current within 90 days, if nothing is added"),
    "current": ("current", "in practice"),
    "not-asked": ("not asked", "the competency asks for no practice"),
}
_NO_MEASURE = (
    "A count says that something was done, not how well: it is no measure of a person. Too little practice is met by "
    "sharing the occasions or by exercises, not by blame."
)


def show(result: PracticeResult, subject: Subject, asked: AskOnDay, names: Names) -> Sheet:
    """Return the needs with what is left to share, then everyone who is qualified."""
    day = {"on": str(result.on)}
    return Sheet(
        title=f"Practice in {names.team(result.team)}, {result.on}",
        lead=_tell(result, names),
        facts=(Fact("Days that count", Span(result.from_date, result.on)),),
        parts=(
            build_table(
                "Needs that ask for practice, or tell how often the work comes up",
                [need for need in result.needs if need.practices_per_year or need.occasions_per_year is not None],
                (
                    words("need", lambda need: names.need(need.competency, need.level, need.shift)),
                    number("keeps one current", lambda need: need.practices_per_year, "a year", decimals=2),
                    number("comes up", lambda need: need.occasions_per_year, "a year", decimals=2),
                    number("keeps current", lambda need: need.ceiling, "people"),
                    number("qualified", lambda need: len(need.people), "people"),
                    number("done by them", lambda need: need.done, "times"),
                    number("left to share", lambda need: need.occasions_left, "times", decimals=2),
                ),
                "None: say of a competency how often a year keeps one current, of a need how often it comes up.",
                "Left to share: what comes up in a year less what the qualified did in these months. A joint exercise "
                "counts for each who took part.",
            ),
            build_table(
                "Who is qualified where practice is asked",
                [(need, person) for need in result.needs for person in need.people if person.state != "not-asked"],
                (
                    words("need", lambda pair: names.need(pair[0].competency, pair[0].level, pair[0].shift)),
                    words("person", lambda pair: names.ref("people", pair[1].person)),
                    number("done", lambda pair: pair[1].count, "times"),
                    words("last day", lambda pair: pair[1].last_day),
                    words("state", lambda pair: State(pair[1].state, *_STATES[pair[1].state])),
                    words("too little from", lambda pair: pair[1].falls_below_on),
                ),
                "Nobody is qualified for a need that asks for practice.",
            ),
        ),
        next=(
            Next("How deep the cover is", "coverage", result.team, day),
            Next("Whom to train, no more than practice keeps current", "cross-training", result.team, day),
        ),
    )


def show_in_figures(result: PracticeResult, subject: Subject, asked: AskOnDay, names: Names) -> Sheet:
    """Return the needs with how many their occasions keep current, and how many are below."""
    asking = [need for need in result.needs if need.practices_per_year or need.occasions_per_year is not None]
    recorded = "" if result.is_recorded else ", and none is recorded yet"
    n = sum(bool(need.practices_per_year) for need in asking)
    return Sheet(
        title=f"Practice in {names.team(result.team)}, {result.on}",
        lead=f"{count(n, 'need asks', 'needs ask')} for practice{recorded}."
        if n
        else "No need of this team asks for practice.",
        facts=(Fact("Days that count", Span(result.from_date, result.on)),),
        parts=(
            build_table(
                "Needs that ask for practice, or tell how often the work comes up",
                asking,
                (
                    words("need", lambda need: names.need(need.competency, need.level, need.shift)),
                    number("keeps one current", lambda need: need.practices_per_year, "a year", decimals=2),
                    number("comes up", lambda need: need.occasions_per_year, "a year", decimals=2),
                    number("keeps current", lambda need: need.ceiling, "people"),
                    number("too little", lambda need: need.below_count, "people"),
                ),
                "None: say of a competency how often a year keeps one current, of a need how often it comes up.",
            ),
        ),
    )


def _tell(result: PracticeResult, names: Names) -> str:
    """Return who is below and who will be soon, need by need."""
    asking = sum(bool(need.practices_per_year) for need in result.needs)
    if not asking:
        return "No need of this team asks for practice."
    if not result.is_recorded:
        return f"{count(asking, 'need asks', 'needs ask')} for practice, and none is recorded yet."
    told = [text for say in (_say_below, _say_soon) for need in result.needs if (text := say(need, names))]
    if told:
        return " ".join(told)
    return f"Everyone qualified keeps in practice for {count(asking, 'need that asks', 'needs that ask')} for it."


def _say_below(need: NeedPractice, names: Names) -> str:
    """Return who has too little practice now; "" for nobody."""
    who, one = _name_people(need, "below", names)
    return f"{who} {'has' if one else 'have'} too little practice for {_name(need, names)}." if who else ""


def _say_soon(need: NeedPractice, names: Names) -> str:
    """Return who must practise soon to keep it; "" for nobody."""
    who, one = _name_people(need, "soon", names)
    must = f"{'needs' if one else 'need'} practice within 90 days to stay current for"
    return f"{who} {must} {_name(need, names)}." if who else ""


def _name(need: NeedPractice, names: Names) -> str:
    return names.need(need.competency, need.level, need.shift)


def _name_people(need: NeedPractice, state: str, names: Names) -> tuple[str, bool]:
    """Return the people in a state, and whether it is one."""
    people = [names.person(person.person) for person in need.people if person.state == state]
    return join_names(people) if people else "", len(people) == 1


QUESTION = Question(
    asks={TEAM: AskOnDay},
    answers=PracticeResult,
    compute=by_names(find_team_practice),
    cautions=(_NO_MEASURE, cautions.NO_AUTHORISATION, cautions.BASIS),
    needs=Kind.TEAM_ANSWERS,
    show=show,
    figures=InFigures(show_in_figures),
)
