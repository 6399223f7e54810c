"""Competencies that nothing needs, levels that nothing teaches, courses that lead nowhere. Pure."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator
from typing import Final, Literal

from ontology.analysis.effect.purpose import find_courses_with_purpose
from ontology.analysis.health.faults import Fault, HealthRule, Looked
from ontology.analysis.paths.offers import build_catalogue
from ontology.analysis.profiles.profile import Profile
from ontology.plurals import format_count
from ontology.snapshot.snapshot import Snapshot

__all__ = ["NEEDED_BY_NONE", "NO_PURPOSE", "TAUGHT_BY_NONE"]


def _find_needless(looked: Looked) -> Iterator[Fault]:
    snapshot = looked.snapshot
    needed = _find_needed(snapshot)
    bound = _count_obligations(snapshot)
    held: Counter[str] = Counter(one for other in snapshot.competencies.values() for one in other.holds_while)
    for competency in snapshot.competencies.values():
        if competency.id not in needed:
            below = " or anything below it" if snapshot.get_narrower(competency.id) else ""
            reason = f"No requirement, cover need or entry condition names it{below}."
            n = bound[competency.id]
            reason += _tell_bound(n, held[competency.id])
            bound_by = _find_bound(n, held[competency.id])
            yield Fault("needed by none", "competencies", competency.id, competency.label, reason, bound_by=bound_by)


def _find_bound(obligations: int, held: int) -> Literal["", "obligations", "competencies"]:
    return "obligations" if obligations else "competencies" if held else ""


def _tell_bound(obligations: int, held: int) -> str:
    """Return what else speaks for a competency; "" where nothing does."""
    parts = []
    if obligations:
        parts.append(f"{format_count(obligations, 'obligation')} {_verb(obligations)} it")
    if held:
        others = format_count(held, "other competency", "other competencies")
        parts.append(f"{others} {'counts' if held == 1 else 'count'} only while it is held")
    return f" But {' and '.join(parts)}: look there first." if parts else ""


def _count_obligations(snapshot: Snapshot) -> Counter[str]:
    """Return how many obligations name each competency."""
    return Counter(row.competency for row in snapshot.get_table("obligations").values())


def _find_needed(snapshot: Snapshot) -> set[str]:
    """Return the competencies that something names, with all above them."""
    tables = ("requirements", "cover_needs", "entry_conditions")
    new = {row.competency for name in tables for row in snapshot.get_table(name).values()}
    found: set[str] = set()
    while new:
        found |= new
        new = {up for one in new if one in snapshot.competencies for up in snapshot.competencies[one].broader} - found
    return found


def _find_untaught(looked: Looked) -> Iterator[Fault]:
    snapshot = looked.snapshot
    asked: defaultdict[str, list[tuple[int, str]]] = defaultdict(list)
    for row in snapshot.get_table("requirements").values():
        if not snapshot.is_learned_on_job(row):
            asked[row.competency].append((row.level, "role"))
    for need in snapshot.get_table("cover_needs").values():
        asked[need.competency].append((need.level, "cover need"))
    # what only renews leads nobody there, and what counts as it does
    taught = build_catalogue(snapshot, Profile(levels={}, kind="role")).by_competency
    for competency_id in sorted(asked):
        reached = max((level for level, _ in taught.get(competency_id, ())), default=0)
        open_ones = [(level, who) for level, who in asked[competency_id] if level > reached]
        if open_ones:
            label = snapshot.competencies[competency_id].label
            yield Fault("taught by none", "competencies", competency_id, label, _tell_untaught(open_ones, reached))


def _tell_untaught(open_ones: list[tuple[int, str]], reached: int) -> str:
    levels = sorted({level for level, _ in open_ones})
    askers = Counter(who for _, who in open_ones)
    who = " and ".join(format_count(n, one) for one, n in sorted(askers.items(), reverse=True))
    what = f"level {levels[0]}" if len(levels) == 1 else f"levels {' and '.join(map(str, levels))}"
    taught = f"the highest level a course teaches is {reached}" if reached else "no course teaches it"
    return f"{who} {'asks' if askers.total() == 1 else 'ask'} for {what}, not to be learned on the job, and {taught}."


def _find_idle(looked: Looked) -> Iterator[Fault]:
    snapshot, has_purpose = looked.snapshot, find_courses_with_purpose(looked.snapshot)
    bound = _count_obligations(snapshot)
    for course in snapshot.courses.values():
        if course.id not in has_purpose:
            reason = "Nothing it teaches is asked for by a role, a cover need or a course that leads somewhere."
            n = sum(bound[competency] for competency in {row.competency for row in snapshot.get_outcomes(course.id)})
            if n:
                reason += f" But {format_count(n, 'obligation')} {_verb(n)} what it teaches: look there first."
            bound_by = _find_bound(n, 0)
            yield Fault("course without purpose", "courses", course.id, course.label, reason, bound_by=bound_by)


def _verb(n: int) -> str:
    return "names" if n == 1 else "name"


NEEDED_BY_NONE: Final = HealthRule("needed by none", _find_needless)
TAUGHT_BY_NONE: Final = HealthRule("taught by none", _find_untaught)
NO_PURPOSE: Final = HealthRule("course without purpose", _find_idle)
