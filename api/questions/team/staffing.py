"""Who can fill a team's places at once, what competes, and how many absences the team survives."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from api.access.rights import Kind
from api.desk.columns import build_if_any, words
from api.desk.kinds import PersonIds
from api.desk.names import Names, join_names
from api.desk.parameters import param
from api.desk.plain_cells import format_cell
from api.desk.question import TEAM, InFigures, Question, Subject, by_names
from api.desk.sheet import Fact, Next, Note, Sheet, Table
from api.pictures.pictures import draw_staffing
from api.questions import _cautions as cautions
from api.questions._asks import AskAboutTeam
from api.questions._figures import hide_slots, show_filled_in_figures
from api.questions.team._places import show_places, tell_bottleneck, tell_filled
from ontology.analysis.places.closest import ClosestPerson
from ontology.analysis.places.staffing import AfterLeaving, StaffingResult, compute_staffing
from ontology.analysis.places.tolerance import Tolerance


@dataclass(frozen=True, kw_only=True)
class AskStaffing(AskAboutTeam):
    """Also without some people for good."""

    leaving: PersonIds = param("Tell also what the team would stand without these people.", default=frozenset())


def show(result: StaffingResult, subject: Subject, asked: AskStaffing, names: Names) -> Sheet:
    """Return who fills what, the bottleneck, and what the team survives."""
    told = (tell_filled(result), tell_bottleneck(result, names), _tell_stood(result.tolerance))
    return Sheet(
        title=f"Staffing of {names.team(result.team)}, {result.on}",
        lead=" ".join(filter(None, told)),
        facts=tuple(_iterate_facts(result, names)),
        parts=(
            *show_places(result, names),
            *_show_trainees(result, names),
            *_show_not_spared(result, names),
            *_show_closest(result, names),
            *map(Note, _iterate_notes(result, names)),
        ),
        next=(
            Next("Whom to train", "cross-training", result.team, {"on": str(result.on)}),
            Next("On whom alone it rests", "single-points-of-failure", result.team, {"on": str(result.on)}),
        ),
    )


def _tell_stood(tolerance: Tolerance) -> str:
    """Return as a sentence which absences leave what holds intact: of needs, of places.

    Examples
    --------
    "Any 1 absence leaves the needs intact; the places stand none."
    """
    told = []
    if tolerance.needs:
        leaves = "absence leaves" if tolerance.needs == 1 else "absences leave"
        told.append(f"any {tolerance.needs} {leaves} the needs intact")
    elif tolerance.needs == 0:
        told.append("a single absence can make a need short")
    if tolerance.places is not None:
        told.append(f"the places stand {tolerance.places or 'none'}")
    elif any(row.kind != "need" for row in tolerance.broken):
        told.append("the places stand none, for not all are filled")
    sentence = "; ".join(told)
    return f"{sentence[:1].upper()}{sentence[1:]}." if told else ""


def _show_not_spared(result: StaffingResult, names: Names) -> tuple[Table, ...]:
    """Return who cannot be spared, and where only they are able."""
    only: dict[str, list[str]] = {}
    for row in result.only_one_can:
        only.setdefault(row.person, []).append(names.place(row.place))
    return build_if_any(
        "Who cannot be spared",
        result.cannot_be_spared,
        (
            words("person", lambda person: names.ref("people", person)),
            words("only they can fill", lambda person: join_names(only.get(person, ())) or "a slot that needs them"),
        ),
        note="Without any one of them one slot fewer can be filled: a fault of the organisation, not of the person.",
    )


def _show_closest(result: StaffingResult, names: Names) -> tuple[Table, ...]:
    """Return who could learn to fill an empty place with the least, where they like to."""
    return build_if_any(
        "Closest to an empty place (voluntary)",
        result.closest,
        (
            words("place", lambda row: names.place(row.place) if row.place else f"a slot of group {row.together}"),
            words("person", lambda row: names.ref("people", row.person)),
            words("needed", lambda row: _tell_missing(row, names)),
        ),
    )


def _iterate_facts(result: StaffingResult | AfterLeaving, names: Names, when: str = "") -> Iterator[Fact]:
    """Yield what the team survives; `when` says in which case."""
    yield Fact(f"Absences survived{when}", _tell_tolerance(result.tolerance))
    if result.critical_absences:
        yield Fact(f"Breaks when away{when}, for example", names.refs("people", result.critical_absences))
    pairs, triples = result.pairs_breaking, result.triples_breaking
    yield Fact(f"Breaks with two away at once{when}", f"{pairs.breaking} of {pairs.pairs} pairs")
    if triples.breaking is not None:
        yield Fact(f"Breaks with three away at once{when}", f"{triples.breaking} of {triples.triples} groups of three")


def _tell_tolerance(tolerance: Tolerance) -> str:
    """Return the absences survived by needs, places and both, or why there is no such number."""
    n_empty = sum(row.missing for row in tolerance.broken if row.kind != "need")
    has_short = any(row.kind == "need" for row in tolerance.broken)
    empty = "one is empty already" if n_empty == 1 else f"{n_empty} are empty already"
    told = (
        ("needs", tolerance.needs, "all are short already" if has_short else "there are none"),
        ("places", tolerance.places, empty if n_empty else "there are none"),
        ("both", tolerance.overall, "something is missing already" if tolerance.broken else "nothing is asked for"),
    )
    return "; ".join(
        f"{what}: not applicable, {reason}" if value is None else f"{what} {value}" for what, value, reason in told
    )


def _show_trainees(result: StaffingResult, names: Names) -> tuple[Table, ...]:
    return build_if_any(
        "Learning at a place, beside those who fill it",
        result.trainees,
        (
            words("place", lambda row: names.place(row.place)),
            words("person", lambda row: names.ref("people", row.person)),
            words("watched over by", lambda row: names.ref("people", row.supervised_by)),
        ),
    )


def _iterate_notes(result: StaffingResult, names: Names) -> Iterator[str]:
    if result.after_leaving:
        gone = join_names(map(names.person, result.leaving))
        for fact in _iterate_facts(result.after_leaving, names, f" once they have left ({gone})"):
            yield f"{fact.name}: {format_cell(fact.value)}."
    for only in result.only_one_can:
        if only.person not in result.cannot_be_spared:
            yield f"Only {names.person(only.person)} can fill {names.place(only.place)}."


def _tell_missing(row: ClosestPerson, names: Names) -> str:
    return "; ".join(
        f"{names.competency(part.competency)} at level {part.level}, "
        + ("not assessed" if part.have is None else f"held at {part.have}")
        for part in row.missing
    )


QUESTION = Question(
    asks={TEAM: AskStaffing},
    answers=StaffingResult,
    compute=by_names(compute_staffing),
    cautions=cautions.OF_PLACES,
    needs=Kind.TEAM_ANSWERS,
    show=show,
    is_slow=True,
    figures=InFigures(
        lambda result, _, asked, names: show_filled_in_figures(
            result, names, f"Staffing of {names.team(result.team)}, {result.on}"
        ),
        prepare=hide_slots,
    ),
    draw=lambda snapshot, team, asked, result, **layout: draw_staffing(snapshot, result, **layout),
)
