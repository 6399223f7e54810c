"""Parameters of a job rotation."""

from __future__ import annotations

from typing import Any, Final

from marshmallow import ValidationError, fields

from api.schemas.parameter_kinds import ChoiceParameter, DateParameter, FlagParameter, IdsParameter, WholeParameter
from api.schemas.parameters import ParametersSchema, make_time_limit
from api.schemas.rotation_answers import PURPOSES
from api.schemas.team_parameters import TeamParameters
from ontology.columns import ID_PATTERN

Learner = tuple[str, str | None]


def parse_learners(text: str) -> frozenset[Learner]:
    """Return (person, place or None) of a text like ``p1,p2:desk``; ValueError says what would be right."""
    found = set()
    for part in text.split(",") if text else []:
        person, colon, place = part.partition(":")
        if not ID_PATTERN.fullmatch(person) or (colon and not ID_PATTERN.fullmatch(place)):
            raise ValueError("must be ids separated by commas, each with or without a place: p1,p2:desk")
        found.add((person, place if colon else None))
    return frozenset(found)


class LearnersParameter(fields.String):
    """Who learns, each with or without a place."""

    def _deserialize(self, value: Any, attr: str | None, data: Any, **kwargs: Any) -> Any:
        try:
            return parse_learners(value)
        except ValueError as error:
            raise ValidationError(str(error)) from None


class _Rotation(TeamParameters):
    purpose = ChoiceParameter(*PURPOSES, required=True, metadata={"description": "What the rotation is for."})
    until = DateParameter(
        metadata={"description": "Last day of the period, instead of `intervals`.", "format": "date"},
    )
    intervals = WholeParameter(1, 60, metadata={"description": "How many intervals (default: 6)."})
    interval_weeks = WholeParameter(1, 52, load_default=4, metadata={"description": "Weeks of an interval."})
    minimum_stay = WholeParameter(
        1, 60, load_default=1, metadata={"description": "Intervals someone stays at a place at the least."}
    )
    maximum_stay = WholeParameter(1, 60, metadata={"description": "And at the most (default: no limit)."})
    practice = WholeParameter(
        1,
        60,
        metadata={
            "description": "learn: intervals each learner stands beside a holder; keep-current: intervals everyone "
            "able holds a place of each role they can do (default: 1, or what the competencies want a year)."
        },
    )
    people = IdsParameter(
        load_default=frozenset(),
        metadata={"description": "Who takes part: ids separated by commas (default: all members).", "default": ""},
    )
    places = IdsParameter(
        load_default=frozenset(),
        metadata={"description": "Which places: ids separated by commas (default: all).", "default": ""},
    )
    renewals = FlagParameter(
        load_default=False,
        metadata={
            "description": "Whether what someone is able to do on the first day is taken as renewed before it lapses."
        },
    )
    learners = LearnersParameter(
        load_default=frozenset(),
        metadata={
            "description": "learn: ids separated by commas, each with or without the place to learn, like "
            "p1,p2:desk (default: everyone not able for any place, at the place they lack least for).",
            "default": "",
        },
    )
    time_limit = make_time_limit()


# `from` is no name in Python, so the schema is built from a dict
RotationParameters: Final = ParametersSchema.from_dict(
    {
        "from": DateParameter(
            metadata={"description": "First day of the period (default: `on`).", "format": "date"},
        ),
        **{name: field for name, field in _Rotation().fields.items() if name != "from"},
    },
    name="RotationParameters",
)
