"""Of which kind every table and every question is, in the table of rights."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from api.access.rights import Kind

__all__ = ["EXPLORED", "TABLE_KINDS", "get_question_kind"]

#: Records of these tables name a person or a team by the columns "person" and "team", or are one.
TABLE_KINDS: Final[Mapping[str, Kind]] = {
    **dict.fromkeys(
        (
            *("scales", "competencies", "roles", "requirements", "equivalences", "obligations"),
            *("courses", "outcomes", "entry_conditions", "sessions", "sites", "orientation_items"),
        ),
        Kind.FRAMEWORK,
    ),
    **dict.fromkeys(("teams", "shifts"), Kind.TEAMS),
    **dict.fromkeys(("cover_needs", "places"), Kind.COVER_NEEDS),
    "people": Kind.PERSON,
    # what days someone is where, as the lead of their team says it
    **dict.fromkeys(("absences", "memberships", "duties", "bookings", "orientation_done", "assessors"), Kind.ABSENCES),
    **dict.fromkeys(("assessments", "appointments", "practices", "agreed_plans", "agreed_courses"), Kind.ASSESSMENTS),
    # a wish for a course is its person's own, as an own rating is
    "requests": Kind.OWN_RATINGS,
}
#: Questions about a person that are of where they stand for the role they hold and of theirs for every other role.
EXPLORED: Final = frozenset({"gap", "learning-path", "schedule"})
_OF_PEOPLE: Final[Mapping[str, Kind]] = {
    **dict.fromkeys(
        ("agreed-plan", "bookings", "levels", "orientation", "person-agenda", "person-obligations"), Kind.STANDING
    ),
    **dict.fromkeys(("development-plan", "reach-gains", "reachable-roles", "routes"), Kind.EXPLORATION),
}
_OF_COMPANY: Final[Mapping[str, Kind]] = {
    "find": Kind.FRAMEWORK,
    "findings": Kind.REVIEW,
    "framework-review": Kind.REVIEW,
    **dict.fromkeys(
        (
            *("assessment-round", "assessor-agreement", "company-cover", "company-obligations"),
            *("open-orientation", "session-plan", "who-can"),
        ),
        Kind.COMPANY_COVER,
    ),
}
#: What is asked of a course, a session or a competency is about the people who need it.
_OF_TABLES: Final[Mapping[str, Kind]] = {
    "roles": Kind.FRAMEWORK,
    "teams": Kind.TEAM_ANSWERS,
    "places": Kind.TEAM_ANSWERS,
    "courses": Kind.COMPANY_COVER,
    "sessions": Kind.COMPANY_COVER,
    "competencies": Kind.COMPANY_COVER,
}


def get_question_kind(name: str, table: str, *, is_of_standing: bool = False) -> Kind:
    """Return the kind of a question of a subject.

    Parameters
    ----------
    name : str
    table : str
        Of the subject; "" for the company.
    is_of_standing : bool
        Whether the role asked about is the one the person holds, or one of a place of their team.

    Raises
    ------
    KeyError
        Nothing was decided about it: it must not be answered.
    """
    if table == "people":
        if name in EXPLORED:
            return Kind.STANDING if is_of_standing else Kind.EXPLORATION
        return _OF_PEOPLE[name]
    return _OF_TABLES[table] if table else _OF_COMPANY[name]
