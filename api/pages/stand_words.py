"""The first sentence on where someone stands: what blocks, what is essential, what nobody has assessed."""

from __future__ import annotations

from typing import Final

from api.desk.names import Names, join_names
from ontology.analysis.profiles.known_levels import PersonLevels

__all__ = ["list_stressed", "tell_standing"]

_NUMBERS: Final = ("No", "One", "Two", "Three", "Four", "Five", "Six", "Seven", "Eight", "Nine", "Ten")


def tell_standing(levels: PersonLevels, names: Names, *, is_self: bool) -> str:
    """Return where someone stands in a role, to them or to their lead."""
    who = names.person(levels.person)
    if levels.role is None:
        if is_self:
            return "No role is recorded for you. Ask your lead, or look at any role."
        return f"No role is recorded for {who}."
    role = names.role(levels.role)
    if not levels.asked:
        return f"{'Your' if is_self else 'The'} role, {role}, asks for nothing yet."
    if all(row.level is None for row in levels.asked):
        if is_self:
            return "Nobody has assessed you yet; the first step is to ask."
        return f"Nobody has assessed {who} yet; the first step is to assess."
    return " ".join(filter(None, (_tell_met(levels, who, is_self=is_self), _tell_unknown(levels, is_self=is_self))))


def list_stressed(levels: PersonLevels) -> tuple[str, ...]:
    """Return the figures of the sentence that stand out."""
    blocking = f"{levels.blocking_met} of {levels.blocking_total}"
    essential = f"{levels.essential_met} of {levels.essential_total} essential"
    return f"{blocking} that {_block(levels.blocking_total)}", essential


def _tell_met(levels: PersonLevels, who: str, *, is_self: bool) -> str:
    blocking, essential = list_stressed(levels)
    told = [blocking] if levels.blocking_total else []
    told += [essential] if levels.essential_total else []
    meets = "You meet" if is_self else f"{who} meets"
    role = "your role" if is_self else "the role"
    is_all = levels.blocking_met == levels.blocking_total and levels.essential_met == levels.essential_total
    if not told:
        return f"{role.capitalize()} asks for nothing that is blocking or essential."
    if is_all:
        return f"{meets} everything {role} asks at full level: {', '.join(told)}."
    return f"{meets} {' and '.join(told)} of what {role} asks at full level."


def _block(total: int) -> str:
    return "blocks" if total == 1 else "block"


def _tell_unknown(levels: PersonLevels, *, is_self: bool) -> str:
    """Return how much was never assessed: of one its necessity too."""
    unknown = [row for row in levels.asked if row.level is None]
    if not unknown:
        return ""
    number = _NUMBERS[len(unknown)] if len(unknown) < len(_NUMBERS) else str(len(unknown))
    level = "your level" if is_self else "the level"
    if len(unknown) == 1:
        return f"One {unknown[0].necessity} competency has never been assessed, so nobody knows {level} in it yet."
    kinds = dict.fromkeys(str(row.necessity) for row in unknown)
    kind = f" {next(iter(kinds))}" if len(kinds) == 1 else ""
    return f"{number}{kind} competencies have never been assessed, so nobody knows {level} in them yet."


def tell_missing_blocks(levels: PersonLevels, names: Names) -> str:
    """Return the blocking competencies that are not met; "" where all are."""
    missing = [names.competency(row.competency) for row in levels.asked if row.necessity == "blocking" and row.gap]
    return f"Without {join_names(missing)} nothing begins." if missing else ""
