"""Every question asked once of the demonstration scenario, as words of the command line."""

from __future__ import annotations

from typing import Final

DAY: Final = ("--on", "2026-11-24")
#: Question -> the words after its name.
WORDS: Final[dict[str, tuple[str, ...]]] = {
    "agenda": ("networks", *DAY),
    "agreed-plan": ("p070", *DAY),
    "assessment-round": DAY,
    "assessor-agreement": ("--from", "2026-09-01", "--until", "2026-11-24"),
    "attendance-sheet": ("briefing-dec-3",),
    "bookings": ("p021", *DAY),
    "company-cover": DAY,
    "company-obligations": DAY,
    "compare": ("0", "now"),
    "coverage": ("treatment", "--away", "p014,p013", *DAY),
    "coverage-timeline": ("treatment", "--weeks", "26", *DAY),
    "cross-training": ("laboratory", *DAY),
    "demand": ("safety-briefing-again", *DAY),
    "development-plan": ("p063", "laboratory-analyst", "--with-routes", *DAY),
    "filled-places": ("treatment", "--away", "p014", *DAY),
    "find": ("treatment", "operator"),
    "findings": DAY,
    "fragile-needs": ("treatment", *DAY),
    "framework-review": DAY,
    "gap": ("Mirela Tanaka", "treatment operator", *DAY),
    "headcount": ("treatment", "--net-hours", "1600", *DAY),
    "holders": ("cert-first-aid", *DAY),
    "leave-check": ("wastewater", "--person", "p037", "--from", "2026-12-28", "--to", "2027-01-08", *DAY),
    "levels": ("p008", *DAY),
    "learning-path": ("p063", "laboratory-analyst", *DAY),
    "obligations": ("networks", *DAY),
    "open-orientation": DAY,
    "orientation": ("p071", *DAY),
    "person-agenda": ("p021", *DAY),
    "person-changes": ("p008", "0", *DAY),
    "person-obligations": ("p010", *DAY),
    "practice": ("wastewater", *DAY),
    "proof": ("treat-night-operator", "--day", "2026-10-14", *DAY),
    "reach-gains": ("p008", *DAY),
    "reachable-roles": ("p008", *DAY),
    "rotation": ("treatment", "--purpose", "relieve-strain", "--intervals", "2", *DAY),
    "routes": ("p008", "senior-treatment-operator", *DAY),
    "schedule": ("p063", "laboratory-analyst", *DAY),
    "session-plan": ("--until", "2027-01-31", *DAY),
    "similar": ("treatment-operator",),
    "single-points-of-failure": ("treatment", *DAY),
    "staffing": ("treatment", *DAY),
    "stand-ins": ("treatment", "--person", "p008", *DAY),
    "team-changes": ("treatment", "0", *DAY),
    # sixteen people across: wider than any terminal
    "to-mend": DAY,
    "training-timetable": ("treatment", *DAY),
    "waiting-list": ("briefing-dec-3", *DAY),
    "who-can": ("--team", "treatment", "--competency", "disinfection-control", "--level", "3", *DAY),
}
