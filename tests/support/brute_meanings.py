"""Where people belong, what they hold and what they count for on one day, by plain loops over the rows.

Written from what the words mean, without the code it checks; every function looks through all rows. `rows` are those
of a company as tests draw them: dicts by column, defaults left out.
"""

from __future__ import annotations

from datetime import date
from typing import Any, NamedTuple

Rows = dict[str, list[dict[str, Any]]]
ORDER_OF_SOURCES = ("certificate", "assessor", "manager")


class Held(NamedTuple):
    """A level on a day: `level` None where never assessed, `basis` the assessment, `by` the competency it counts by."""

    level: int | None
    state: str
    basis: dict[str, Any] | None = None
    by: str = ""


class There(NamedTuple):
    """Where someone belongs on a day."""

    team: str
    shift: str
    role: str
    kind: str


def is_within(row: dict[str, Any], day: date) -> bool:
    """Whether a day lies between `from_date` and `to_date` of a row, both included; an empty one has no bound."""
    first, last = row.get("from_date"), row.get("to_date")
    return (first is None or first <= day) and (last is None or day <= last)


def get_row(rows: Rows, table: str, row_id: str) -> dict[str, Any]:
    """Return the row of an id."""
    (row,) = [row for row in rows[table] if row["id"] == row_id]
    return row


def find_place_of(rows: Rows, person_id: str, day: date) -> There | None:
    """Return where someone belongs on a day; None while they are not employed."""
    person = get_row(rows, "people", person_id)
    start, end = person.get("start_date"), person.get("end_date")
    if (start is not None and day < start) or (end is not None and day > end):
        return None
    home, shift, role = person.get("team", ""), person.get("shift", ""), person.get("role", "")
    for row in rows["memberships"]:
        if row["person"] == person_id and is_within(row, day):
            own_shift = shift if row["team"] == home else ""
            return There(row["team"], row.get("shift") or own_shift, row.get("role") or role, row.get("kind", "own"))
    return There(home, shift, role, "own")


def find_own(rows: Rows, person_id: str, competency_id: str, day: date) -> Held:
    """Return a level by the assessments of the competency itself that were made by the day and never taken back."""
    about = get_row(rows, "competencies", competency_id)
    is_certificate = about.get("kind") == "certificate"
    known = []
    for row in rows["assessments"]:
        if row["person"] == person_id and row["competency"] == competency_id and row["date"] <= day:
            is_counted = row["source"] == "certificate" if is_certificate else row["source"] in ORDER_OF_SOURCES
            if is_counted and row.get("withdrawn_on") is None:
                known.append(row)
    if not is_certificate and about.get("safety"):
        known = drop_raised(known)
    if not known:
        return Held(None, "not-assessed")
    is_hard = (about.get("expiry") or ("hard" if is_certificate else "review")) == "hard"
    valid = [row for row in known if (row.get("valid_until") or date.max) >= day]
    if is_certificate:
        if valid:
            best = max(valid, key=lambda row: (row["level"], row.get("valid_until") or date.max))
            return Held(best["level"], "ok", best)
        best = max(known, key=lambda row: (row.get("valid_until") or date.max, row["level"]))
    else:
        best = find_latest(known)
        if best in valid:
            return Held(best["level"], "ok", best)
    return Held(0, "lapsed", best) if is_hard else Held(best["level"], "review-due", best)


def find_latest(known: list[dict[str, Any]]) -> dict[str, Any]:
    """Return what counts: of the last day, by certificate, then assessor, then manager; of one source the lower."""
    last = max(row["date"] for row in known)
    for source in ORDER_OF_SOURCES:
        found = [row for row in known if row["date"] == last and row["source"] == source]
        if found:
            lowest = min(row["level"] for row in found)
            return max((r for r in found if r["level"] == lowest), key=lambda r: r.get("valid_until") or date.max)
    raise AssertionError("something is known")


def drop_raised(known: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """Leave out a manager's levels above that of the latest assessor, where a mistake can hurt someone."""
    seen = [row for row in known if row["source"] == "assessor"]
    if not seen:
        return known
    limit = find_latest(seen)["level"]
    return [row for row in known if row["source"] != "manager" or row["level"] <= limit]


def find_standing(rows: Rows, person_id: str, day: date) -> set[str]:
    """Return the competencies of someone that nothing suspends on a day: the least set.

    One holds while all that it names are held: at level 1 or more, by their own assessments or an equivalence from one,
    and standing themselves.
    """
    ids = [row["id"] for row in rows["competencies"]]
    own = {i: find_own(rows, person_id, i, day).level or 0 for i in ids}
    standing: set[str] = set()
    for _ in range(len(ids) + 1):
        held = set()
        for i in standing:
            given = [
                row["as_level"]
                for row in rows["equivalences"]
                if row["counts_as"] == i and row["competency"] in standing and is_within(row, day)
                if own[row["competency"]] >= row["level"]
            ]
            if max([own[i], *given]) >= 1:
                held.add(i)
        standing = {row["id"] for row in rows["competencies"] if set(row.get("holds_while", ())) <= held}
    return standing


def list_ways(rows: Rows, person_id: str, competency_id: str, day: date, standing: set[str]) -> list[Held]:
    """Return the own level and every equivalence in force from what is held by itself and stands."""
    ways = [find_own(rows, person_id, competency_id, day)]
    for row in rows["equivalences"]:
        if row["counts_as"] == competency_id and row["competency"] in standing and is_within(row, day):
            other = find_own(rows, person_id, row["competency"], day)
            if (other.level or 0) >= row["level"]:
                ways.append(Held(row["as_level"], other.state, other.basis, row["competency"]))
    return ways


def find_levels(rows: Rows, person_id: str, day: date) -> dict[str, list[Held]]:
    """Return of every competency what may be said of someone's level: several where equivalences give the same."""
    standing = find_standing(rows, person_id, day)
    found = {}
    for about in rows["competencies"]:
        ways = list_ways(rows, person_id, about["id"], day, standing)
        most = max(way.level or 0 for way in ways)
        if most:
            ways = [way for way in ways if way.level == most]
            ways = [way for way in ways if way.state == "ok"] or ways
            ways = [way for way in ways if not way.by] or ways
            if about["id"] not in standing:
                ways = [Held(0, "suspended", way.basis, way.by) for way in ways]
        found[about["id"]] = ways if most else ways[:1]
    return found


def find_met(rows: Rows, person_id: str, day: date) -> dict[str, int]:
    """Return the level of every competency that is met: by something still valid, and nothing suspends it.

    A review that is due meets nothing, though the level stays.
    """
    standing = find_standing(rows, person_id, day)
    met = {}
    for about in rows["competencies"]:
        ways = list_ways(rows, person_id, about["id"], day, standing)
        valid = [way.level or 0 for way in ways if way.state == "ok"]
        met[about["id"]] = max(valid, default=0) if about["id"] in standing else 0
    return met


def is_appointed(rows: Rows, person_id: str, competency_id: str, level: int, day: date) -> bool:
    """Whether someone has what the competency asks: an appointment in force that day for any level, or for this one."""
    if not get_row(rows, "competencies", competency_id).get("appointment") or level == 0:
        return True
    return any(
        (row["person"], row["competency"]) == (person_id, competency_id)
        and is_within(row, day)
        and (row.get("level") is None or row["level"] >= level)
        for row in rows["appointments"]
    )


class TeamDay:
    """A team on a day: who belongs, who of them is there, what each holds."""

    def __init__(self, rows: Rows, team: str, day: date) -> None:
        self.rows, self.team, self.day = rows, team, day
        self.shift_of: dict[str, str] = {}
        self.levels: dict[str, dict[str, int]] = {}
        for person in sorted(row["id"] for row in rows["people"]):
            there = find_place_of(rows, person, day)
            if there is not None and there.team == team:
                self.shift_of[person] = there.shift
                self.levels[person] = {i: ways[0].level or 0 for i, ways in find_levels(rows, person, day).items()}
        away = {row["person"] for row in rows["absences"] if is_within(row, day)}
        self.present = [person for person in self.shift_of if person not in away]

    def judge_need(self, need: dict[str, Any], shift: str | None) -> dict[str, Any]:
        """Return depth, state and people of a need in a shift, or in the team for None."""
        competency, level = need["competency"], need["level"]
        members = [p for p, there in self.shift_of.items() if shift is None or there == shift]
        qualified = [p for p in members if self.levels[p][competency] >= level]
        lacking = [p for p in qualified if not is_appointed(self.rows, p, competency, level, self.day)]
        there = [p for p in qualified if p in self.present and p not in lacking]
        if len(there) < need["minimum"]:
            state = "short"
        elif len(there) == need["minimum"]:
            state = "sole-holder" if len(there) == 1 else "no-reserve"
        else:
            state = "below-target" if len(qualified) < need["target"] else "covered"
        return {
            "depth": len(there),
            "state": state,
            "qualified": qualified,
            "present": there,
            "not_appointed": lacking,
        }

    def get_shifts(self, need: dict[str, Any]) -> list[str | None]:
        """Return where a need counts; nowhere for each shift of a team without any."""
        if need["applies"] == "team":
            return [None]
        if need["applies"] == "each-shift":
            return sorted(row["id"] for row in self.rows["shifts"] if row["team"] == self.team)
        return [need["applies"]]

    def is_able(self, person: str, role: str) -> bool:
        """Whether someone meets all that is blocking or essential in a role at unsupervised level, and is appointed."""
        asked = [row for row in self.rows["requirements"] if row["role"] == role]
        for row in asked:
            level = row.get("unsupervised_level", row["level"])
            if row.get("necessity") == "desirable":
                continue
            is_held = self.levels[person][row["competency"]] >= level
            if not is_held or not is_appointed(self.rows, person, row["competency"], level, self.day):
                return False
        return bool(asked)

    def may_start(self, person: str, role: str) -> bool:
        """Whether someone meets all that is blocking or essential in a role at entry level."""
        asked = [row for row in self.rows["requirements"] if row["role"] == role]
        must = [row for row in asked if row.get("necessity") != "desirable"]
        return bool(asked) and all(
            self.levels[person][r["competency"]] >= r.get("entry_level", r["level"]) for r in must
        )

    def list_scope(self, shift: str | None) -> list[str]:
        """Return who of those present is in a shift, or in the team for None."""
        return [p for p in self.present if shift is None or self.shift_of[p] == shift]

    def list_slots(self) -> list[list[str]]:
        """Return for every slot of a place or of a need of a group who can fill it."""
        slots = []
        for place in self.rows["places"]:
            if place["team"] == self.team:
                scope = self.list_scope(place.get("shift") or None)
                slots += [[p for p in scope if self.is_able(p, place["role"])]] * place.get("count", 1)
        for need in self.rows["cover_needs"]:
            if need["team"] == self.team and need["together"]:
                # of a team without shifts nobody counts for a need of each shift: its slots stay empty
                able = [self.judge_need(need, shift)["present"] for shift in self.get_shifts(need)] or [[]]
                slots += [people for people in able for _ in range(need["minimum"])]
        return slots
