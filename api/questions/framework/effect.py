"""What publishing a draft would do: to people's standing and paths, to teams, to courses, and to what breaks a rule."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from api.access.rights import Kind
from api.desk.named_states import NamedStates
from api.desk.question import DRAFT, InFigures, Question, Subject
from api.questions import _cautions as cautions
from api.questions._asks import AskOnDay, AskSlowly
from api.questions.framework._effect_figures import keep_named
from api.questions.framework._effect_record import DraftEffect, build_result, compare_findings
from api.questions.framework._effect_sheet import show
from ontology.analysis.effect.before_after import compute_effect
from ontology.snapshot.snapshot import Snapshot

_DECIDES_NOTHING: Final = (
    "This shows what the entries would say after publishing. It decides nothing about anyone: who would no longer "
    "count has unlearned nothing by it. Look at the draft first, then assess or train; the employer and the local code "
    "decide who works."
)


@dataclass(frozen=True, kw_only=True)
class AskEffect(AskOnDay, AskSlowly):
    """On which day, and for how long at the most."""


def compute(snapshot: Snapshot, draft: Subject, asked: AskEffect, states: NamedStates) -> DraftEffect:
    """Return the effect: the present state before, the draft on it after."""
    after, told = states["draft"].state.get_whole(), states["draft"].state.told
    assert told is not None, "a draft is told of"
    effect = compute_effect(snapshot, after, asked.on, time_limit_s=asked.time_limit_s)
    findings = compare_findings(snapshot, after, asked.on)
    return build_result(effect, findings, draft.id, told.number or 0, states["draft"].title)


QUESTION = Question(
    asks={DRAFT: AskEffect},
    answers=DraftEffect,
    compute=compute,
    cautions=(_DECIDES_NOTHING, cautions.NO_SELECTION_TEST, cautions.NO_AUTHORISATION, cautions.BASIS),
    needs=Kind.REVIEW,
    is_slow=True,
    is_in_main=True,
    show=show,
    figures=InFigures(show, keep_named=keep_named),
)
