"""How the cover of a team is said aloud: what is short, on whom it rests, when it holds again, what changes.

Each sentence stands here alone: the sheet, the terminal and the page say the same.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from typing import Final, NamedTuple

from api.desk.names import Names, count, join_names
from ontology.analysis.cover.coverage import CoverageResult, CoverageRow, CoverState, ShiftCover
from ontology.analysis.places.filling import FilledPlaces

_NAMED: Final = 3
#: Words with which the label of a shift is spoken of as a group: "on the night crew".
_GROUPS: Final = ("crew", "shift", "watch", "gang")


class Scope(NamedTuple):
    """A need where it counts: its row, and the row of one shift where it is for each."""

    need: CoverageRow
    row: CoverageRow | ShiftCover

    @property
    def state(self) -> CoverState:
        """How it stands."""
        return self.row.state


def list_scopes(result: CoverageResult) -> list[Scope]:
    """Return every need where it counts, in the order of the answer."""
    return [Scope(need, row) for need in result.needs for row in list_shifts(need)]


def list_shifts(need: CoverageRow) -> Sequence[CoverageRow | ShiftCover]:
    """Return a need where it counts: each of its shifts, or itself."""
    return need.shifts or (need,)


def name_shift(names: Names, shift: str | None) -> str:
    """Return where a need counts, as one goes on in a sentence.

    Examples
    --------
    "on the night crew", "in Plant A", "" for the whole team.
    """
    if shift is None:
        return ""
    label = names.shift(shift)
    words = label.lower().split()
    if not any(word in words for word in _GROUPS):
        return f"in {label}"
    said = f"{label[:1].lower() if label[1:2].islower() else label[:1]}{label[1:]}"
    return f"on {said}" if words[0] in _GROUPS else f"on the {said}"


def name_scopes(scopes: Iterable[Scope], names: Names) -> str:
    """Return needs by name, those of one shift together: "A and B on the night crew, C and 2 more".

    At most three are named.
    """
    by_shift: dict[str, list[str]] = {}
    listed = list(scopes)
    for scope in listed[:_NAMED]:
        label = names.competency(scope.need.competency)
        by_shift.setdefault(name_shift(names, scope.row.shift), []).append(label)
    told: list[str] = []
    for where, labels in by_shift.items():
        distinct = dict.fromkeys(labels)
        told += [f"{join_names(distinct)} {where}"] if where else distinct
    more = len(listed) - _NAMED
    return join_names([*told, f"{more} more"] if more > 0 else told)


def tell_cover(result: CoverageResult, names: Names) -> str:
    """Return how many needs are short and which, on whom alone others rest, and when what is short holds again."""
    if not result.needs:
        return "Nothing is asked of this team yet: it has no cover needs."
    short = [need for need in result.needs if need.state == "short"]
    alone = [scope for scope in list_scopes(result) if scope.state == "sole-holder"]
    if not short and not alone:
        return "Nothing is short and nothing rests on one person."
    told = [_tell_short(short, result, names), tell_holding(result)] if short else ["Nothing is short."]
    return " ".join([*told, *_iterate_alone(alone, names)])


def _tell_short(short: list[CoverageRow], result: CoverageResult, names: Names) -> str:
    which = name_scopes((scope for scope in list_scopes(result) if scope.state == "short"), names)
    n_needs = len(result.needs)
    return f"{len(short)} of {count(n_needs, 'need')} {'is' if len(short) == 1 else 'are'} short: {which}."


def _iterate_alone(alone: list[Scope], names: Names) -> Iterator[str]:
    """Yield for each person what rests on them alone."""
    by_person: dict[tuple[str, ...], list[Scope]] = {}
    for scope in alone:
        by_person.setdefault(scope.row.present, []).append(scope)
    unnamed = by_person.pop((), [])
    if unnamed:
        verb, each = ("rests", "alone") if len(unnamed) == 1 else ("rest", "each")
        yield f"{name_scopes(unnamed, names)} {verb} on 1 person {each}."
    for people, scopes in list(by_person.items())[:2]:
        verb = "rests" if len(scopes) == 1 else "rest"
        yield f"{name_scopes(scopes, names)} {verb} on {join_names(map(names.person, people))} alone."
    left = sum(len(scopes) for scopes in list(by_person.values())[2:])
    if left:
        yield f"{left} more {'rests' if left == 1 else 'rest'} on one person alone."


def tell_holding(result: CoverageResult) -> str:
    """Return when what is short holds again, as far as records tell."""
    short = [scope.row.holds_again for scope in list_scopes(result) if scope.state == "short"]
    days = set(short)
    it_holds = "it holds" if len(short) == 1 else "they hold"
    if not days:
        return ""
    if None in days:
        return (
            f"No day is known on which {it_holds} again." if len(days) == 1 else "Not all of it is known to hold again."
        )
    known = sorted(day for day in days if day is not None)
    first = f"{it_holds[0].upper()}{it_holds[1:]} again from {known[0]}."
    return first if len(known) == 1 else f"All of it holds again from {known[-1]}."


def tell_places(result: FilledPlaces) -> str:
    """Return how many places stand empty; against what is so anyway, where someone is supposed away."""
    empty, was = len(result.unfilled), len(result.unfilled_before)
    if not result.places or (not empty and not was):
        return ""
    stands = "stands" if empty == 1 else "stand"
    instead = f" instead of {was}" if empty != was else ""
    return f"{empty} of {count(result.places, 'place')} {stands} empty{instead}."


def tell_change(before: CoverageResult, after: CoverageResult, names: Names) -> str:
    """Return what the absence of some people would change: what would be short, and what would rest on one person."""
    without = f"Without {join_names(map(names.person, after.away))}"
    changed = _list_changed(before, after)
    n_needs, n_short = len(after.needs), sum(need.state == "short" for need in after.needs)
    n_before = sum(need.state == "short" for need in before.needs)
    if not any(scope.state == "short" for scope in changed):
        told = [f"{without} {_tell_same(n_short, n_needs)}"]
    else:
        are = "is" if n_short == 1 else "are"
        instead = f" instead of {n_before}" if n_short != n_before else " as before, and now elsewhere too"
        told = [f"{without} {n_short} of {count(n_needs, 'need')} {are} short{instead}: {_tell_new(changed, names)}."]
    told += _iterate_alone([scope for scope in changed if scope.state == "sole-holder"], names)
    return " ".join(told)


def _list_changed(before: CoverageResult, after: CoverageResult) -> list[Scope]:
    """Return every need where it counts and stands otherwise than before, in the order of the answer."""
    was = {(need.competency, need.level, need.applies): need for need in before.needs}
    changed = []
    for need in after.needs:
        old = was.get((need.competency, need.level, need.applies), need)
        if old is not need:  # whoever is away leaves most rows as they were
            states = {row.shift: row.state for row in list_shifts(old)}
            rows = [row for row in list_shifts(need) if states.get(row.shift, row.state) != row.state]
            changed += [Scope(need, row) for row in rows]
    return changed


def _tell_same(n_short: int, n_needs: int) -> str:
    if not n_short:
        return "nothing is short."
    are = "is" if n_short == 1 else "are"
    return f"{n_short} of {count(n_needs, 'need')} {are} short, no more than now."


def _tell_new(changed: list[Scope], names: Names) -> str:
    short = [scope for scope in changed if scope.state == "short"]
    nobody = [scope for scope in short if not scope.row.depth]
    few = [scope for scope in short if scope.row.depth]
    told = []
    if nobody:
        told.append(f"{name_scopes(nobody, names)} {'has' if len(nobody) == 1 else 'have'} nobody left")
    if few:
        told.append(f"{name_scopes(few, names)} {'has' if len(few) == 1 else 'have'} too few left")
    return "; ".join(told)
