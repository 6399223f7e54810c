"""The page of releases: the names that states have, what each leads to, and the form that names the present one."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final
from urllib.parse import quote, urlencode

from api.pages.draft_faults import DraftFault, WithFaults
from api.pages.draft_words import tell_releases
from api.pages.page import Link, Page
from ontology.store.releases import Release

__all__ = ["ReleaseRow", "ReleasesView", "build_releases_view", "describe_releases"]

_TRAIL: Final = (Link("Framework", "/framework"), Link("Drafts", "/drafts"))


@dataclass(frozen=True, slots=True)
class ReleaseRow:
    """One release, the draft it was, and where it leads."""

    release: Release
    draft: Link | None
    acts: tuple[Link, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class ReleasesView(WithFaults):
    """All that stands on the page, the latest first; `typed` is what stands in the form."""

    lead: str
    rows: tuple[ReleaseRow, ...]
    faults: tuple[DraftFault, ...]
    typed: Mapping[str, str]
    revision: int


def build_releases_view(
    releases: Sequence[Release],
    revision: int,
    *,
    faults: Sequence[DraftFault] = (),
    typed: Mapping[str, str] | None = None,
) -> ReleasesView:
    """Return the releases, given by revision; `faults` and `typed` are of a form that was refused."""
    return ReleasesView(
        lead=tell_releases(releases),
        rows=tuple(map(_build_row, reversed(releases))),
        faults=tuple(faults),
        typed=typed or {},
        revision=revision,
    )


def _build_row(release: Release) -> ReleaseRow:
    named = urlencode({"as_of": release.version})
    acts = [
        Link("See the framework then", f"/framework?{named}"),
        Link("Compare with now", f"/compare?{urlencode({'from': release.version, 'to': 'now'})}"),
    ]
    if release.from_draft:
        acts.append(Link("Take it back by a draft", f"/new/drafts?{urlencode({'undo_of': release.version})}"))
    draft = Link(release.from_draft, f"/drafts/{quote(release.from_draft, safe='')}") if release.from_draft else None
    return ReleaseRow(release, draft, tuple(acts))


def describe_releases(view: ReleasesView) -> Page:
    """Return the page of releases."""
    return Page("releases.html", {"view": view}, way="framework", trail=_TRAIL)
