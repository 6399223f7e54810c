"""Roles that ask for much the same: cosine of importance-weighted profiles. Pure; numpy and scipy.

A role is a vector with a component per competency: its level (the measured decimal one where there is one) as a share
of the scale's top, times its importance (weight - 1) / 4, so that a weight of 1, "not important", counts nothing.
The similarity of two roles hangs on these two roles only: a third one that comes or goes does not change it.
Where every weight is the same, as where none was given, the factor falls out of the cosine and levels alone compare.
A role whose weights are all 1 would be no vector at all: for it, too, levels alone count.

Validated on 879 occupations of O*NET 29.2 against its published related occupations (tests/reference).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Annotated, Any, Final

import numpy as np
from scipy.sparse import csr_array

from ontology.errors import InputError
from ontology.model.records import Requirement
from ontology.snapshot.snapshot import Snapshot

#: Similarities that differ by less are ties: the last digits of a sum are no difference between roles.
_DIGITS: Final = 12
#: Roles named, unless more are asked for.
DEFAULT_SIMILAR: Final = 20


@dataclass(frozen=True, slots=True)
class SimilarRole:
    """A role and how similar it is: 0 nothing in common, 1 the same profile but for its overall height."""

    id: Annotated[str, "Id of the role."]
    label: Annotated[str, "Its label."]
    similarity: Annotated[float, "0 nothing in common .. 1 the same profile."]


@dataclass(frozen=True, slots=True)
class SimilarRolesResult:
    """Roles by falling similarity, ties by id; remarks say why there are none."""

    roles: Annotated[tuple[SimilarRole, ...], "By falling similarity."]
    remarks: Annotated[tuple[str, ...], "What else should be known."] = ()


@dataclass(frozen=True, slots=True)
class _Profiles:
    """One row of unit length per role that has requirements."""

    role_ids: tuple[str, ...]
    rows: dict[str, int]
    matrix: Any
    transposed: Any


_Vector = np.ndarray[Any, np.dtype[np.float64]]


def find_similar_roles(snapshot: Snapshot, role_id: str, limit: int = DEFAULT_SIMILAR) -> SimilarRolesResult:
    """Return the roles whose importance-weighted profiles are most like a role's.

    Parameters
    ----------
    snapshot : Snapshot
        Its roles and requirements.
    role_id : str
        The role to compare with; it is not among the answers.
    limit : int
        How many at most, >= 1.

    Returns
    -------
    SimilarRolesResult
        `roles` by falling similarity (0..1), ties by id. Roles without requirements are never listed, nor those
        with nothing in common (similarity 0). Empty, with a remark, when the role itself has no requirements.

    Raises
    ------
    UnknownIdError
        There is no such role.
    InputError
        `limit` is below 1.

    Notes
    -----
    The matrix of n roles is built once per snapshot, O(z) for z requirements; a question costs O(z + n log n).

    References
    ----------
    .. [1] Salton, Wong & Yang (1975), A vector space model for automatic indexing, Communications of the ACM 18(11).
    """
    role = snapshot.require_role(role_id)
    if limit < 1:
        raise InputError("The number of similar roles asked for is at least 1.", parameter="limit", value=limit)
    profiles = snapshot.keep("profiles of roles", lambda: _build_profiles(snapshot))
    row = profiles.rows.get(role_id)
    if row is None:
        remark = f"{role.label} has no requirements: there is nothing to compare."
        return SimilarRolesResult((), (remark,))
    similarities = _compute_row(profiles, row)
    candidates = np.flatnonzero(similarities > 0)
    candidates = candidates[candidates != row]
    # role ids are in order, so a stable sort leaves ties by id
    best = candidates[np.argsort(-similarities[candidates], kind="stable")][:limit]
    return SimilarRolesResult(
        tuple(
            SimilarRole(profiles.role_ids[i], snapshot.roles[profiles.role_ids[i]].label, float(similarities[i]))
            for i in best.tolist()
        )
    )


def _compute_row(profiles: _Profiles, row: int) -> _Vector:
    products = (profiles.matrix[[row], :] @ profiles.transposed).toarray()[0]
    similarities: _Vector = np.clip(np.round(products, _DIGITS), 0.0, 1.0)
    return similarities


def _build_profiles(snapshot: Snapshot) -> _Profiles:
    role_ids = tuple(role_id for role_id in snapshot.roles if snapshot.get_requirements(role_id))
    columns = {competency_id: column for column, competency_id in enumerate(snapshot.competencies)}
    tops = {c.id: len(snapshot.scales[c.scale]) for c in snapshot.competencies.values()}
    values: list[float] = []
    indices: list[int] = []
    starts = [0]
    for role_id in role_ids:
        requirements = snapshot.get_requirements(role_id)
        components = _build_components(requirements, tops)
        values.extend((components / np.linalg.norm(components)).tolist())
        indices.extend(columns[requirement.competency] for requirement in requirements)
        starts.append(len(values))
    matrix = csr_array((values, indices, starts), shape=(len(role_ids), len(columns)))
    rows = {role_id: row for row, role_id in enumerate(role_ids)}
    return _Profiles(role_ids, rows, matrix, matrix.T.tocsr())


def _build_components(requirements: Sequence[Requirement], tops: Mapping[str, int]) -> _Vector:
    """Return share of the scale times importance; without the factor that would leave nothing."""
    n_levels = np.array([tops[r.competency] for r in requirements])
    ranks = np.array([r.level for r in requirements]) / n_levels
    importances = np.array([(r.weight - 1) / 4 for r in requirements])
    measured = [r.level if r.measured_level is None else r.measured_level for r in requirements]
    shares: _Vector = np.array(measured) / n_levels
    weighted: _Vector = shares * importances
    # all measured levels may be 0 as well; ranks never are
    return next(vector for vector in (weighted, shares, ranks) if vector.any())
