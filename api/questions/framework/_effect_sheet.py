"""What a person sees of the effect of a draft: the sentence that says what matters, then a table of each kind."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from typing import Any, Final

from api.desk.columns import build_if_any, build_table, number, words
from api.desk.names import Names, count, join_names
from api.desk.question import Subject
from api.desk.sheet import Cell, Fact, Next, Part, Ref, Sheet, Table
from api.questions._words import show_state
from api.questions.framework._effect_record import DraftEffect
from api.questions.framework._effect_words import say_people, tell_effect
from ontology.analysis.effect.results import GroupEffect, PathEffect, RoleEffect, TeamEffect

#: Findings on a sheet; all stand in the JSON and the workbook.
_SHOWN: Final = 100


def show(result: DraftEffect, subject: Subject, asked: Any, names: Names) -> Sheet:
    """Return what differs, kind by kind; what has no difference has no table."""
    examined, of = result.examined, result.of
    return Sheet(
        title=f"Effect of the draft {result.title}, {result.on}",
        lead=tell_effect(result, names),
        facts=(
            Fact("Roles by people looked at", f"{examined.pairs:,} of {of.pairs:,}"),
            Fact("Learning paths looked at", f"{examined.paths:,} of {of.paths:,}"),
            Fact("Teams looked at", f"{examined.teams:,} of {of.teams:,}"),
        ),
        parts=tuple(_iterate_parts(result, names)),
        next=(
            Next("Compare it with the present", "compare", "", {"from": "now", "to": f"draft:{result.draft}"}),
            Next("What is to mend", "to-mend", "", {}),
        ),
    )


def _iterate_parts(result: DraftEffect, names: Names) -> Iterator[Part]:
    if result.roles:
        yield _build_roles(result.roles, names)
    yield from build_if_any(
        "Levels",
        result.levels,
        (
            words("competency", lambda row: names.ref("competencies", row.competency)),
            number("higher", lambda row: row.people_up, "people"),
            number("lower", lambda row: row.people_down, "people"),
        ),
    )
    if result.teams:
        yield _build_needs(result.teams, names)
        yield _build_teams(result.teams, names)
    if result.paths:
        yield _build_paths(result.paths, names)
    yield from build_if_any(
        "Courses",
        result.courses,
        (
            words("course", lambda row: names.ref("courses", row.id)),
            words("purpose", lambda row: f"{row.purpose}: {_PURPOSES[row.purpose]}"),
        ),
    )
    for title, found in (
        ("Newly breaks a rule", result.findings.new),
        ("No longer breaks a rule", result.findings.mended),
    ):
        yield from build_if_any(
            title,
            found[:_SHOWN],
            (
                words("rule", lambda row: row.rule),
                words("table", lambda row: row.table.replace("_", " ")),
                words("record", lambda row: row.id),
                words("what would be right", lambda row: row.reason),
            ),
            note=f"{count(len(found) - _SHOWN, 'more')} in the JSON." if len(found) > _SHOWN else "",
        )


_PURPOSES: Final = {
    "lost": "nothing asks any more for what it teaches",
    "gained": "something comes to ask for what it teaches",
}


def _build_roles(rows: Sequence[RoleEffect], names: Names) -> Table:
    return build_table(
        "Roles",
        rows,
        (
            words("role", lambda row: names.ref("roles", row.id)),
            number("requirements changed", lambda row: row.requirements_changed),
            words(
                "stop working alone",
                lambda row: _say_number(row.everyone, "stopped_people", "works-alone"),
                is_number=True,
            ),
            words(
                "come to work alone",
                lambda row: _say_number(row.everyone, "started_people", "works-alone"),
                is_number=True,
            ),
            words(
                "stop may start", lambda row: _say_number(row.everyone, "stopped_people", "may-start"), is_number=True
            ),
            words(
                "come to may start",
                lambda row: _say_number(row.everyone, "started_people", "may-start"),
                is_number=True,
            ),
            words("readiness lower", lambda row: str(row.everyone.readiness_down), is_number=True),
            words("readiness higher", lambda row: str(row.everyone.readiness_up), is_number=True),
            words(
                "of holders, stop working alone",
                lambda row: _say_number(row.holders, "stopped_people", "works-alone"),
                is_number=True,
            ),
            words("who stops working alone", lambda row: names.refs("people", row.everyone.stopped["works-alone"])),
        ),
        note="People employed on the day. Who works alone meets all that is indispensable at the unsupervised level.",
    )


def _say_number(group: GroupEffect, which: str, standing: str) -> Cell:
    return str(getattr(group, which)[standing])


def _build_needs(teams: Iterable[TeamEffect], names: Names) -> Table:
    return build_table(
        "Needs that would stand otherwise",
        [(team.id, need) for team in teams for need in team.needs],
        (
            words("team", lambda pair: names.ref("teams", pair[0])),
            words("need", lambda pair: names.ref("competencies", pair[1].competency)),
            number("level", lambda pair: pair[1].level),
            words("before", lambda pair: _show_state(pair[1].state_before)),
            words("after", lambda pair: _show_state(pair[1].state_after)),
            words("present before", lambda pair: _say(pair[1].depth_before), is_number=True),
            words("present after", lambda pair: _say(pair[1].depth_after), is_number=True),
        ),
        "Every need stands as before.",
    )


def _show_state(state: str | None) -> Cell:
    return show_state(state) if state else "not asked"


def _say(value: int | None) -> str:
    return "–" if value is None else str(value)


def _build_teams(teams: Iterable[TeamEffect], names: Names) -> Table:
    return build_table(
        "Teams",
        teams,
        (
            words("team", lambda row: Ref("teams", row.id, names.team(row.id))),
            words("places filled before", lambda row: _say(row.places_filled.before), is_number=True),
            words("places filled after", lambda row: _say(row.places_filled.after), is_number=True),
            words("absences survived before", lambda row: _say(row.tolerance.before), is_number=True),
            words("absences survived after", lambda row: _say(row.tolerance.after), is_number=True),
            words("something newly rests on", lambda row: _say_points(row, "gained", names)),
            words("nothing rests any more on", lambda row: _say_points(row, "lost", names)),
        ),
    )


def _say_points(row: TeamEffect, which: str, names: Names) -> Cell:
    ids = getattr(row.single_points, which)
    n = getattr(row.single_points, f"{which}_people")
    return join_names(map(names.person, ids)) if ids else say_people(n, "").strip() if n else "nobody"


def _build_paths(paths: Sequence[PathEffect], names: Names) -> Table:
    return build_table(
        "Learning paths to full level",
        paths,
        (
            words("role", lambda row: names.ref("roles", row.role)),
            words("from", lambda row: "nothing" if row.from_ == "nothing" else "what its holders hold"),
            words("longer", lambda row: str(row.longer), is_number=True),
            words("shorter", lambda row: str(row.shorter), is_number=True),
            words("no longer possible", lambda row: str(row.impossible), is_number=True),
            words("newly possible", lambda row: str(row.possible), is_number=True),
            number("hours before", lambda row: row.hours_before, "h"),
            number("hours after", lambda row: row.hours_after, "h"),
        ),
        note="Hours are those of the paths that differ, together.",
    )
