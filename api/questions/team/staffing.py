"""Who can fill a team's places at once, what competes, and how many absences the team survives."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Final

from api.desk.columns import build_table, words
from api.desk.kinds import PersonIds
from api.desk.names import Names, count, join_names
from api.desk.parameters import param
from api.desk.plain_cells import format_cell
from api.desk.question import TEAM, Question, Subject, read_title
from api.desk.rights import Right
from api.desk.sheet import Cell, Column, Fact, Next, Note, Sheet, State, Table
from api.pictures.pictures import draw_staffing
from api.questions import _cautions as cautions
from api.questions._asks import AskAboutTeam
from ontology.analysis.places.closest import ClosestPerson
from ontology.analysis.places.staffing import AfterLeaving, StaffingResult, compute_staffing
from ontology.analysis.places.tolerance import Tolerance

_UNFILLED: Final = State("empty", "empty", "nobody present fills it")
#: People and kinds of slots named in a sentence.
_NAMED: Final = 3


@dataclass(frozen=True, kw_only=True)
class AskStaffing(AskAboutTeam):
    """Also without some people for good."""

    leaving: PersonIds = param("Tell also what the team would stand without these people.", default=frozenset())


def show(result: StaffingResult, subject: Subject, asked: AskStaffing, names: Names) -> Sheet:
    """Return who fills what, the bottleneck, and what the team survives."""
    told = (_tell_filled(result), _tell_bottleneck(result, names), _tell_stood(result.tolerance))
    return Sheet(
        title=f"Staffing of {names.team(result.team)}, {result.on}",
        lead=" ".join(filter(None, told)),
        facts=tuple(_iterate_facts(result, names)),
        parts=(
            Table(
                "Places",
                (Column("place"), Column("where"), Column("person")),
                (
                    *(
                        (
                            names.place(row.place),
                            names.ref("shifts", row.shift) or "team",
                            names.ref("people", row.person),
                        )
                        for row in result.assignment
                    ),
                    *((names.place(place), _find_where(result, place, names), _UNFILLED) for place in result.unfilled),
                ),
                "The team has no places.",
            ),
            *_show_together(result, names),
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


def _find_where(result: StaffingResult, place: str, names: Names) -> Cell:
    """Return the crew of a place that stays empty."""
    shifts = (row.shift for row in result.tolerance.broken if row.place == place)
    return names.ref("shifts", next(shifts, None)) or "team"


def _tell_filled(result: StaffingResult) -> str:
    together = f", {result.together_filled} of {result.together_slots} slots of groups" if result.together_slots else ""
    return f"{result.filled} of {result.places} places filled{together}."


def _tell_bottleneck(result: StaffingResult, names: Names) -> str:
    """Return what competes for whom; "" where nothing does."""
    slots = _name_contested(result, names)
    if not slots:
        return ""
    people = result.bottleneck.people
    if not people:
        return f"Nobody present can fill {_count(slots)}."
    can = "only one person can" if len(people) == 1 else f"only {len(people)} people can"
    who = f": {join_names(map(names.person, people))}" if len(people) <= _NAMED else ""
    return f"{count(len(slots), 'slot')} of {_count_kinds(slots)} compete, and {can} fill them{who}."


def _name_contested(result: StaffingResult, names: Names) -> list[str]:
    slots = [names.place(place) for place in result.bottleneck.places]
    for need in result.bottleneck.needs:
        slots += [names.need(need.competency, need.level, need.shift)] * need.slots
    return slots


def _count_kinds(slots: list[str]) -> str:
    kinds = list(dict.fromkeys(slots))
    return join_names(kinds[:_NAMED] + ([f"{len(kinds) - _NAMED} more"] if len(kinds) > _NAMED else []))


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


def _show_not_spared(result: StaffingResult, names: Names) -> Iterator[Table]:
    """Yield who cannot be spared, and where only they are able."""
    only: dict[str, list[str]] = {}
    for row in result.only_one_can:
        only.setdefault(row.person, []).append(names.place(row.place))
    if result.cannot_be_spared:
        yield build_table(
            "Who cannot be spared",
            result.cannot_be_spared,
            (
                words("person", lambda person: names.ref("people", person)),
                words(
                    "only they can fill", lambda person: join_names(only.get(person, ())) or "a slot that needs them"
                ),
            ),
            "",
            "Without any one of them one slot fewer can be filled: a fault of the organisation, not of the person.",
        )


def _show_closest(result: StaffingResult, names: Names) -> Iterator[Table]:
    """Yield who could learn to fill an empty place with the least, where they like to."""
    if result.closest:
        yield build_table(
            "Closest to an empty place (voluntary)",
            result.closest,
            (
                words("place", lambda row: names.place(row.place) if row.place else f"a slot of group {row.together}"),
                words("person", lambda row: names.ref("people", row.person)),
                words("needed", lambda row: _tell_missing(row, names)),
            ),
            "",
        )


def _iterate_facts(result: StaffingResult | AfterLeaving, names: Names, when: str = "") -> Iterator[Fact]:
    """Yield what the team survives; `when` says in which case."""
    yield Fact(f"Absences survived{when}", _tell_tolerance(result.tolerance))
    if result.critical_absences:
        yield Fact(f"Breaks when away{when}, for example", names.refs("people", result.critical_absences))
    counts = [f"{result.pairs_breaking.breaking} of {result.pairs_breaking.pairs} pairs"]
    if result.triples_breaking.breaking is not None:
        counts.append(f"{result.triples_breaking.breaking} of {result.triples_breaking.triples} triples")
    yield Fact(f"Absences of two or three people that break something{when}", ", ".join(counts))


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


def _show_together(result: StaffingResult, names: Names) -> tuple[Table, ...]:
    if not result.together_slots:
        return ()
    rows: list[tuple[Cell, ...]] = [
        (row.together, names.need(row.competency, row.level, row.shift), names.ref("people", row.person))
        for row in result.together_assignment
    ]
    for need in result.unfilled_needs:
        rows += [(need.together, names.need(need.competency, need.level, need.shift), _UNFILLED)] * need.slots
    columns = (Column("group"), Column("need"), Column("person"))
    return (Table("Needed together, by different people", columns, tuple(rows), ""),)


def _show_trainees(result: StaffingResult, names: Names) -> Iterator[Table]:
    if result.trainees:
        yield build_table(
            "Learning at a place, beside those who fill it",
            result.trainees,
            (
                words("place", lambda row: names.place(row.place)),
                words("person", lambda row: names.ref("people", row.person)),
                words("watched over by", lambda row: names.ref("people", row.supervised_by)),
            ),
            "",
        )


def _iterate_notes(result: StaffingResult, names: Names) -> Iterator[str]:
    if result.after_leaving:
        gone = join_names(map(names.person, result.leaving))
        for fact in _iterate_facts(result.after_leaving, names, f" once they have left ({gone})"):
            yield f"{fact.name}: {format_cell(fact.value)}."
    for only in result.only_one_can:
        if only.person not in result.cannot_be_spared:
            yield f"Only {names.person(only.person)} can fill {names.place(only.place)}."


def _count(slots: Iterable[str]) -> str:
    return ", ".join(slot if n == 1 else f"{slot} ({n} times)" for slot, n in Counter(slots).items())


def _tell_missing(row: ClosestPerson, names: Names) -> str:
    return "; ".join(
        f"{names.competency(part.competency)} at level {part.level}, "
        + ("not assessed" if part.have is None else f"held at {part.have}")
        for part in row.missing
    )


QUESTION = Question(
    name="staffing",
    title=read_title(__doc__),
    asks={TEAM: AskStaffing},
    answers=StaffingResult,
    compute=lambda snapshot, team, asked: compute_staffing(snapshot, team.id, asked.on, asked.away, asked.leaving),
    cautions=(
        cautions.NO_REASON_TO_REFUSE,
        cautions.NO_ROSTER_LAW,
        cautions.NO_AUTHORISATION,
        cautions.OFFER,
        cautions.BASIS,
    ),
    needs=Right.SEE_TEAM,
    show=show,
    is_slow=True,
    draw=lambda snapshot, team, asked, result, **layout: draw_staffing(snapshot, result, **layout),
)
