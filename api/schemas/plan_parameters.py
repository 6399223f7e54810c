"""Parameters of schedules and development plans."""

from __future__ import annotations

from typing import Any, Final

from marshmallow import ValidationError, fields

from api.schemas.diagram_parameters import DiagramParameters
from api.schemas.parameter_kinds import DateParameter, FlagParameter, NumberParameter, WholeParameter
from api.schemas.parameters import ParametersSchema, make_role
from api.schemas.path_parameters import PathParameters
from api.schemas.values import parse_date

#: Hours in a week; and holidays named at once: some years of them.
_WEEK_HOURS: Final = 168
MAX_HOLIDAYS: Final = 400
MAX_AT_ONCE: Final = 20


class DatesParameter(fields.String):
    """ISO 8601 dates separated by commas; empty for none."""

    def _deserialize(self, value: Any, attr: str | None, data: Any, **kwargs: Any) -> Any:
        parts = value.split(",") if value else []
        if len(parts) > MAX_HOLIDAYS:
            raise ValidationError(f"must be at most {MAX_HOLIDAYS} dates")
        try:
            return tuple(sorted({parse_date(part) for part in parts}))
        except ValueError:
            raise ValidationError("must be dates separated by commas, like 2026-12-25,2026-12-28") from None


def _build_calendar_fields() -> dict[str, fields.Field[Any]]:
    return {
        **PathParameters().fields,
        "start": DateParameter(metadata={"description": "First day of the plan (default: on).", "format": "date"}),
        "study_hours_per_week": NumberParameter(
            0.25, _WEEK_HOURS, metadata={"description": "Hours a week for learning (default: the person's own)."}
        ),
        "at_once": WholeParameter(
            1, MAX_AT_ONCE, load_default=2, metadata={"description": "Most courses that run on one day."}
        ),
        "holidays": DatesParameter(
            load_default=(),
            metadata={"description": "Days without study besides those the person is away: dates separated by commas."},
        ),
    }


PersonScheduleParameters: Final = ParametersSchema.from_dict(
    {"role": make_role("The role asked about."), **_build_calendar_fields()}, name="PersonScheduleParameters"
)
RoleScheduleParameters: Final = ParametersSchema.from_dict(
    {"from": make_role("The role whose full profile is the start."), **_build_calendar_fields()},
    name="RoleScheduleParameters",
)
DevelopmentPlanParameters: Final = ParametersSchema.from_dict(
    {
        "role": make_role("The role asked about."),
        **_build_calendar_fields(),
        "with_routes": FlagParameter(
            load_default=False,
            metadata={"description": "Whether routes through other roles are looked for where the move is too large."},
        ),
    },
    name="DevelopmentPlanParameters",
)

_shown: Final = {name: DiagramParameters().fields[name] for name in ("layout", "page")}
PersonScheduleDiagramParameters: Final = ParametersSchema.from_dict(
    {**PersonScheduleParameters().fields, **_shown}, name="PersonScheduleDiagramParameters"
)
RoleScheduleDiagramParameters: Final = ParametersSchema.from_dict(
    {**RoleScheduleParameters().fields, **_shown}, name="RoleScheduleDiagramParameters"
)
