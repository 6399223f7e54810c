"""Words for what comes after a course: what to practise at work, how a level is confirmed. Pure; imports records."""

from __future__ import annotations

from ontology.model.records import Competency, ScaleLevel

__all__ = ["describe_practice", "get_assessment_way"]


def describe_practice(competency: Competency, level: ScaleLevel) -> str:
    """Return what to practise on the job so that a level is seen, from its description on the scale.

    Parameters
    ----------
    level : ScaleLevel
        Of the competency's scale.
    """
    if competency.is_certificate:
        return "Keep the document at hand, note its last day, and do the work it stands for as soon as it is allowed."
    seen = level.description.strip().rstrip(".")
    aim = f"until this is seen: {seen[0].lower()}{seen[1:]}" if seen else f"until the level {level.label} is seen"
    words = {
        "knowledge": f"Use it in real cases at work and explain it to a colleague, {aim}.",
        "behaviour": f"Choose two situations a week in which it shows, and ask someone there what they saw, {aim}.",
    }.get(competency.kind, f"Agree on real tasks of this kind with your lead and do them, {aim}.")
    if competency.safety:
        words += " Under supervision until the level is confirmed: a mistake here can hurt someone."
    if competency.practices_per_year:
        words += f" To stay current: {competency.practices_per_year:g} times a year or more."
    return words


def get_assessment_way(competency: Competency) -> tuple[str, str]:
    """Return the source that counts for a competency (certificate, assessor or manager), and the way in words."""
    if competency.is_certificate:
        return "certificate", "The issuer's certificate, entered with its date and its last day."
    if competency.safety:
        return (
            "assessor",
            "An assessor watches the real task; a manager's higher level does not count, since a mistake can hurt.",
        )
    if competency.kind == "knowledge":
        return "manager", "The manager or an assessor asks for reasons in a case from daily work."
    if competency.kind == "behaviour":
        return "manager", "The manager names situations in which it was seen; those who were there are asked."
    return "manager", "The manager or an assessor watches the real task and compares it with the level's description."
