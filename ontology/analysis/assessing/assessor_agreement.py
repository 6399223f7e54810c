"""How far assessors agree where two or more rated the same, and what is to be looked at together again. Pure.

Nothing here speaks of a single assessor: levels are told without who gave them.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from fractions import Fraction
from itertools import combinations, groupby
from typing import Annotated, Final, Literal

from ontology.analysis.assessing.agreement_statistics import (
    compute_kappa,
    compute_one_way_icc,
    compute_two_way_icc,
)
from ontology.analysis.assessing.rated_targets import RatedTarget, find_targets
from ontology.analysis.profiles.belonging import get_person_on
from ontology.analysis.profiles.levels import get_level
from ontology.errors import InputError
from ontology.model.identity import PeopleCount, PersonId
from ontology.snapshot.snapshot import Snapshot

__all__ = ["LEAST_PAIRS", "AssessorAgreement", "CompetencyAgreement", "Disagreement", "compute_assessor_agreement"]

#: Figures of fewer pairs say more about chance than about agreement.
LEAST_PAIRS: Final = 10
#: Levels that lie so far apart are looked at again whatever they are about.
_FAR: Final = 2


@dataclass(frozen=True, slots=True)
class CompetencyAgreement:
    """How far assessors agree in one competency."""

    competency: Annotated[str, "Id of the competency."]
    targets: Annotated[PeopleCount, "People whom two or more assessors rated in it within 30 days."]
    assessors: Annotated[PeopleCount, "How many assessors rated them."]
    pairs: Annotated[int, "Pairs of ratings of the same person."]
    exact_share: Annotated[float | None, "Share of pairs with the same level, 0 to 1; null where hidden."]
    kappa: Annotated[
        float | None,
        "Quadratic weighted kappa: 1 is full agreement, 0 what chance would give; null where hidden, or where all "
        "ratings are the same level.",
    ]
    icc: Annotated[float | None, "Intraclass correlation of icc_model; null where hidden, or where it has no value."]
    icc_model: Annotated[Literal["ICC(1,1)"], "The model of `icc`: any assessors, one rating each (one-way)."]
    icc_two_way: Annotated[
        float | None, "ICC(2,1), where the same assessors rated everyone told here; null where they did not, or hidden."
    ]
    is_hidden: Annotated[bool, "Whether the figures are hidden: fewer than 10 pairs."]


@dataclass(frozen=True, slots=True)
class Disagreement:
    """Ratings of one person in one competency that are too far apart to leave them so."""

    person: Annotated[PersonId, "Id of the person."]
    competency: Annotated[str, "Id of the competency."]
    levels: Annotated[tuple[int, ...], "The levels rated, from the lowest."]
    to_do: Annotated[str, "What settles it."]


@dataclass(frozen=True, slots=True)
class AssessorAgreement:
    """How far assessors agree, by competency, and where they do not."""

    from_date: Annotated[date, "First day of the ratings."]
    until: Annotated[date, "Last day of the ratings."]
    competencies: Annotated[tuple[CompetencyAgreement, ...], "Those that two or more assessors rated, by id."]
    disagreements: Annotated[tuple[Disagreement, ...], "What is to be seen together again, by person and competency."]


def compute_assessor_agreement(snapshot: Snapshot, *, from_date: date, until: date) -> AssessorAgreement:
    """Return how far assessors agree in some time.

    Parameters
    ----------
    from_date, until : date
        First and last day of the ratings, both included.

    Raises
    ------
    InputError
        The last day lies before the first.

    Notes
    -----
    O(assessments), and O(k^2) for k ratings of the same.
    """
    if until < from_date:
        raise InputError("The last day must not lie before the first.", parameter="until", value=until)
    targets = find_targets(snapshot, from_date, until)
    found = (_judge(snapshot, target, until) for target in sorted(targets, key=lambda t: (t.person, t.competency)))
    return AssessorAgreement(
        from_date,
        until,
        tuple([_count(competency, list(group)) for competency, group in groupby(targets, key=lambda t: t.competency)]),
        tuple([row for row in found if row is not None]),
    )


def _count(competency: str, targets: Sequence[RatedTarget]) -> CompetencyAgreement:
    assessors = {assessor for target in targets for assessor in target.assessors}
    pairs = [pair for target in targets for pair in combinations(target.levels, 2)]
    is_hidden = len(pairs) < LEAST_PAIRS
    ratings = [target.levels for target in targets]
    has_same = all(set(target.assessors) == assessors for target in targets)
    shown: Sequence[Fraction | None] = (None, None, None, None)
    if not is_hidden:
        shown = (
            Fraction(sum(first == second for first, second in pairs), len(pairs)),
            compute_kappa(dict(_tabulate(pairs, is_ordered=len(assessors) == 2))),
            compute_one_way_icc(ratings),
            compute_two_way_icc(ratings) if has_same else None,
        )
    exact_share, kappa, icc, icc_two_way = (None if value is None else float(value) for value in shown)
    return CompetencyAgreement(
        competency,
        len(targets),
        len(assessors),
        len(pairs),
        exact_share,
        kappa,
        icc,
        "ICC(1,1)",
        icc_two_way,
        is_hidden,
    )


def _tabulate(pairs: Sequence[tuple[int, int]], *, is_ordered: bool) -> Iterator[tuple[tuple[int, int], Fraction]]:
    """Yield how often each pair of levels was given: the smaller id in rows, or half of each pair in either order."""
    table: defaultdict[tuple[int, int], Fraction] = defaultdict(Fraction)
    for first, second in pairs:
        if is_ordered:
            table[first, second] += 1
        else:
            table[first, second] += Fraction(1, 2)
            table[second, first] += Fraction(1, 2)
    yield from table.items()


def _judge(snapshot: Snapshot, target: RatedTarget, until: date) -> Disagreement | None:
    """Return what is to be done about ratings that are too far apart, or None where they are not."""
    low, high = min(target.levels), max(target.levels)
    if high == low:
        return None
    is_safety = snapshot.competencies[target.competency].safety
    last_day = max(rating.date for rating in target.ratings)
    if high - low < _FAR and not is_safety and _get_unsupervised(snapshot, target, last_day) != high:
        return None
    to_do = f"A third assessor watches with both; until then the lower level counts: {low}."
    if len(target.ratings) > 2:
        to_do = f"Another assessor watches with all of them; until then the lowest level counts: {low}."
    counted = get_level(snapshot, target.person, snapshot.competencies[target.competency], until).level
    if counted is not None and counted > low:
        to_do += f" Other answers count level {counted} on {until}: go by the lower one until it is settled."
    return Disagreement(target.person, target.competency, tuple(sorted(target.levels)), to_do)


def _get_unsupervised(snapshot: Snapshot, target: RatedTarget, on: date) -> int | None:
    """Return the level at which the role someone has on a day lets them work alone; None where it asks for none."""
    role = get_person_on(snapshot, target.person, on).role
    asked = (row for row in snapshot.get_requirements(role) if row.competency == target.competency)
    return next((row.unsupervised_level for row in asked), None)
