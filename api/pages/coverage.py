"""The cover of a team on a day, and what would still hold if some were away: the table, the places, the boxes."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from api.desk.desk import Answer
from api.desk.names import Names, count, join_names
from api.desk.sheet import Ref
from api.pages.addresses import build_address
from api.pages.cover_rows import PlaceView, iterate_places
from api.pages.cover_table import NeedRow, Written, write_need_rows
from api.pages.crews import Crew, list_crews
from api.pages.page import Link, Page
from api.questions.team._cover import tell_change, tell_cover, tell_places
from ontology.analysis.cover.coverage import STATES, CoverageResult
from ontology.analysis.places.filling import FilledPlaces

__all__ = ["CoverView", "build_view", "describe_coverage"]


@dataclass(frozen=True, slots=True)
class CoverView:
    """What stands on the page of a team's cover."""

    team: Ref
    on: str
    usual_day: str
    away: str
    first_words: str
    lead: str
    heading: str
    caption: str
    members: str
    needs: tuple[NeedRow, ...]
    places: tuple[PlaceView, ...]
    places_lead: str
    crews: tuple[Crew, ...]
    acts: tuple[tuple[str, str], ...]
    remarks: tuple[str, ...]
    cautions: tuple[str, ...]
    revision: int
    #: What places and crews were written as on this state.
    written: Written


def build_view(cover: Answer, filled: Answer, base: Answer) -> CoverView:
    """Return the view of three answers: cover and places as supposed, and cover without anyone supposed away."""
    enquiry, names = cover.enquiry, cover.names
    result: CoverageResult = cover.result
    before: CoverageResult = base.result
    snapshot, team = enquiry.state.snapshot, Ref("teams", result.team, names.team(result.team))
    crews = list_crews(snapshot, result.team, result.on, absent=before.absent, away=result.away)
    n_members = sum(len(crew.members) for crew in crews)
    lead = tell_change(before, result, names) if result.away else tell_cover(result, names)
    on, today = str(result.on), str(enquiry.state.today)
    texts = {name: text for name, text in enquiry.texts.items() if (name, text) != ("on", today)}
    needs = write_need_rows(result, before, names)
    return CoverView(
        team=team,
        on=on,
        usual_day=today,
        away=",".join(result.away),
        first_words=_tell_first_words(result),
        lead=" ".join(filter(None, (lead, tell_places(filled.result)))),
        heading=_tell_heading(result, needs, names),
        caption=_tell_caption(result),
        members=f"{count(n_members, 'member')}, {n_members - len(result.absent)} present.",
        needs=needs,
        places=tuple(iterate_places(filled.result, snapshot, names)),
        places_lead=_tell_filled(filled.result),
        crews=crews,
        acts=tuple(_iterate_acts(result, texts)),
        remarks=tuple(map(names.put_in, (*result.remarks, *filled.result.remarks))),
        cautions=tuple(dict.fromkeys((*enquiry.question.cautions, *filled.enquiry.question.cautions))),
        revision=snapshot.revision,
        written=snapshot.keep("rows of cover as they are written", dict),
    )


def _tell_first_words(result: CoverageResult) -> str:
    short = sum(need.state == "short" for need in result.needs)
    return f"{short} of {count(len(result.needs), 'need')} short" if short else "Nothing short"


def _tell_heading(result: CoverageResult, needs: Sequence[NeedRow], names: Names) -> str:
    """Return what stands above the needs: what changes without someone, where anything does."""
    if not result.away:
        return "Needs"
    without = f"without {join_names(map(names.person, result.away))}"
    return f"What changes {without}" if any(need.is_changed for need in needs) else f"Needs {without}"


def _tell_caption(result: CoverageResult) -> str:
    return (
        f"{count(len(result.needs), 'need')}, the worst first. Black squares are people present, the blue line is the "
        "least number, white squares up to the wished number are missing."
    )


def _tell_filled(result: FilledPlaces) -> str:
    if not result.places:
        return "The team has no places."
    return f"{result.filled} of {count(result.places, 'place')} filled at once by different people."


def _iterate_acts(result: CoverageResult, texts: Mapping[str, str]) -> Iterator[tuple[str, str]]:
    """Yield what one can do next: words and address."""
    team = result.team
    day = {"on": texts["on"]} if "on" in texts else {}
    worst = min(result.needs, key=lambda need: (STATES.index(need.state), -need.criticality), default=None)
    if result.away:
        yield "Find a stand-in", build_address("teams", team, "stand-ins", {"person": result.away[0], **day})
    elif worst is not None and worst.state != "covered":
        yield "Find a stand-in", build_address("teams", team, "stand-ins", {"competency": worst.competency, **day})
    yield "Plan training", build_address("teams", team, "cross-training", day)
    yield "See the next 12 weeks", build_address("teams", team, "coverage-timeline", {**texts, "weeks": "12"})
    yield "Staffing and tolerance", build_address("teams", team, "staffing", texts)
    yield "What changed since", build_address("teams", team, "changes")


def describe_coverage(view: CoverView) -> Page:
    """Return the page of a team's cover."""
    here = build_address("teams", view.team.id, "coverage")
    day = {} if view.on == view.usual_day else {"on": view.on}
    asked = day | ({"away": view.away} if view.away else {})
    files = [
        (words, "/api" + build_address("teams", view.team.id, segment, asked | more))
        for words, segment, more in (
            ("workbook", "coverage", {"format": "xlsx"}),
            ("picture", "coverage/diagram", {}),
            ("JSON", "coverage", {}),
        )
    ]
    trail = (Link("All teams", "/teams"), Link(view.team.name, build_address("teams", view.team.id, "")))
    values = {"view": view, "here": here, "files": files}
    return Page("coverage.html", values, way="cover", trail=trail)
