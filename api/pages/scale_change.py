"""The form that moves a competency to another scale, or gives a scale other ranks, in a draft: with its map."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from api.desk.record_words import name_reference
from api.pages.addresses import build_record_address
from api.pages.draft_faults import DraftFault, WithFaults
from api.pages.page import Link, Page
from ontology.snapshot.level_maps import find_level_map
from ontology.snapshot.snapshot import Snapshot

__all__ = ["RankLine", "ScaleForm", "build_form", "describe_scale_change"]


@dataclass(frozen=True, slots=True)
class RankLine:
    """A rank of before, and what it counts as, as it is typed."""

    rank: int
    label: str
    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ScaleForm(WithFaults):
    """All that the form shows; without lines it asks first what is to change.

    `choices` are rank and words of the scale that levels are read on, none where its ranks are typed.
    """

    title: str
    lead: str
    action: str
    back: str
    draft_title: str
    competency: str
    scale: str
    scales: tuple[str, ...]
    lines: tuple[RankLine, ...]
    choices: tuple[tuple[str, str], ...]
    levels: str
    reason: str
    faults: tuple[DraftFault, ...]
    revision: int


def build_form(
    view: Snapshot,
    draft: tuple[str, str],
    competency: str,
    scale: str,
    typed: Mapping[str, str],
    faults: Sequence[DraftFault] = (),
) -> ScaleForm:
    """Return the form.

    Parameters
    ----------
    view : the state that the draft leads to
    draft : its id and title
    competency, scale : the competency that moves, "" where ranks change; the scale it moves to, or that changes
    typed : what stands in it, by field
    faults : what is wrong with that
    """
    known = view.competencies.get(competency)
    start = known.scale if known is not None else scale
    # an id that is none is told first
    is_asked = scale in view.scales and (known is not None or not competency)
    steps = view.scales.get(start, ()) if is_asked else ()
    said = {} if competency == "" else find_level_map(view, start, scale) or {}
    lines = tuple(
        RankLine(step.rank, step.label, typed.get(f"rank{step.rank}", str(said.get(step.rank, "")))) for step in steps
    )
    choices = [(str(step.rank), f"{step.rank} {step.label}") for step in view.scales.get(scale, ())]
    name = name_reference(view, "competencies", competency) if known is not None else competency
    address = build_record_address("drafts", draft[0])
    return ScaleForm(
        title=_tell_title(name, scale, is_asked=is_asked),
        lead=_tell_lead(name, start, scale, is_asked=is_asked),
        action=f"{address}/scale-changes",
        back=address,
        draft_title=draft[1],
        competency=name,
        scale=scale,
        scales=tuple(view.scales),
        lines=lines,
        choices=(("0", "0, below the first"), *choices) if competency and is_asked else (),
        levels=typed.get("levels", "\n".join(step.label for step in steps)),
        reason=typed.get("reason", ""),
        faults=tuple(faults),
        revision=view.revision,
    )


def _tell_title(name: str, scale: str, *, is_asked: bool) -> str:
    if not is_asked:
        return "Change a scale"
    return f"Move {name} to scale {scale}" if name else f"Change the ranks of scale {scale}"


def _tell_lead(name: str, start: str, scale: str, *, is_asked: bool) -> str:
    after = (
        "What asks, teaches and needs it says its levels by this map at once; assessments of people are read by it "
        "when the draft is published. Nobody's answers differ until then."
    )
    if not is_asked:
        return (
            "Say which competency is to be measured on which scale; without a competency the ranks of the scale itself "
            "change. Nobody's answers differ until the draft is published."
        )
    if name:
        return (
            f"Say what each rank of scale {start} counts as on scale {scale}: every rank once, never falling. {after}"
        )
    return (
        f"Write the levels that scale {scale} has from now on, and say what each rank of before becomes: every rank "
        f"once, never falling. {after}"
    )


def describe_scale_change(form: ScaleForm) -> Page:
    """Return the page of the form."""
    trail = (Link("Framework", "/framework"), Link("Drafts", "/drafts"), Link(form.draft_title, form.back))
    return Page("scale_change.html", {"form": form}, way="framework", trail=trail)
