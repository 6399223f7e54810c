"""What a question may be asked: a frozen dataclass whose fields say type, default, limits, unit and one sentence.

Everything that reads or shows a parameter (addresses, the OpenAPI document, templates, options, forms) is made from
`list_parameters`.
"""

from __future__ import annotations

import dataclasses
import datetime as dt
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from functools import cache, cached_property
from typing import Any, ClassVar, Final, cast, get_type_hints

from api.desk.kinds import LARGEST, WORDS, Kind, find_kind, format_value, get_parser
from api.errors import ParameterError, WrongParameter
from ontology.snapshot.snapshot import Snapshot
from ontology.snapshot.successors import find_successors


class _OpenDay(dt.date):
    """A day that is no day yet: equal to itself alone, so that every day of the calendar can be asked about."""

    def __eq__(self, other: object) -> bool:
        return self is other

    __hash__ = object.__hash__


#: Stands for the day on which the question is asked, until the desk fills it in.
TODAY: Final = _OpenDay(1, 1, 1)
#: Stands for the time limit of the settings, until the desk fills it in.
USUAL_TIME: Final = -1.0
#: Stands for the page size of the settings, until it is filled in.
USUAL_SIZE: Final = 0
_MISSING: Final = dataclasses.MISSING


def param(
    about: str,
    *,
    default: Any = _MISSING,
    minimum: float = -LARGEST,
    maximum: float = LARGEST,
    name: str = "",
    unit: str = "",
    is_word: bool = False,
    label: str = "",
) -> Any:
    """Return the field of a parameter.

    Parameters
    ----------
    about : str
        One sentence.
    default : optional
        Left out: the parameter must be given. None: not given is a value of its own.
    minimum, maximum : float
        Of numbers.
    name : str
        In addresses, where it is no name in Python ("from").
    unit : str
        "h", "weeks", "people", ...
    is_word : bool
        On the command line the value may also stand as a word after the id.
    label : str
        Beside its field in a form, where no other question has a parameter of this name.
    """
    about_it = {"about": about, "unit": unit, "minimum": minimum, "maximum": maximum, "is_word": is_word}
    return dataclasses.field(default=default, metadata={"name": name, "label": label, **about_it})


@dataclass(frozen=True, slots=True)
class Parameter:
    """One parameter, as all faces see it; `field` is its attribute, `name` stands in addresses.

    `parser` reads its text where that is not for its kind to say.
    """

    name: str
    field: str
    kind: Kind
    about: str
    default: Any
    unit: str = ""
    minimum: float = -LARGEST
    maximum: float = LARGEST
    is_word: bool = False
    label: str = ""
    parser: Callable[[str], Any] | None = None

    @property
    def is_required(self) -> bool:
        """Whether it must be given."""
        return self.default is _MISSING

    @property
    def is_page_size(self) -> bool:
        """Whether it is how much stands on a page, which the settings say where nothing is asked."""
        return self.name == "page_size" and self.default == USUAL_SIZE

    @property
    def default_text(self) -> str | None:
        """The text that asks for the default; None where there is none that could be sent."""
        if self.default is _MISSING or self.default is None or self.default in (TODAY, USUAL_TIME) or self.is_page_size:
            return None
        return format_value(self.default)

    def parse(self, text: str) -> Any:
        """Return the value of a text; ValueError says what would be right."""
        parse = self.parser or get_parser(self.kind, self.minimum, self.maximum)
        return parse(text)


@dataclass(frozen=True, kw_only=True)
class Asks:
    """Base of what questions may be asked."""

    #: Names of the class's fields for which a value given is not checked against the Snapshot.
    UNCHECKED: ClassVar[frozenset[str]] = frozenset()

    @cached_property
    def texts(self) -> dict[str, str]:
        """The texts that ask for this, by name, defaults left out: the canonical form of a question."""
        values = [(parameter, getattr(self, parameter.field)) for parameter in list_parameters(type(self))]
        return {p.name: format_value(value) for p, value in values if value is not None and value != p.default}

    def check(self, snapshot: Snapshot) -> None:
        """Raise ParameterError where parameters do not go together."""


def list_parameters(asks: type[Asks]) -> tuple[Parameter, ...]:
    """Return the parameters of a class in the order of its fields."""
    return _list_parameters(cast(Any, asks))


@cache
def _list_parameters(asks: Any) -> tuple[Parameter, ...]:
    hints = get_type_hints(asks, include_extras=True)
    found = []
    for field in dataclasses.fields(asks):
        about = dict(field.metadata)
        name = about.pop("name") or field.name
        found.append(Parameter(name, field.name, find_kind(hints[field.name]), default=field.default, **about))
    return tuple(found)


def parse_asked(asks: type[Asks], given: Mapping[str, str]) -> Asks:
    """Return what is asked by texts by name; what is left out has its default.

    Raises
    ------
    ParameterError
        Every parameter that is wrong, unknown or missing.
    """
    return asks(**parse_values(list_parameters(asks), given))


def parse_values(parameters: Iterable[Parameter], given: Mapping[str, str]) -> dict[str, Any]:
    """Return the values of the texts that are given, by field; errors as `parse_asked`, unknown names last."""
    known = {parameter.name: parameter for parameter in parameters}
    wrong: list[WrongParameter] = []
    values: dict[str, Any] = {}
    for name, parameter in known.items():
        text = given.get(name)
        if text is not None:
            try:
                values[parameter.field] = parameter.parse(text)
            except ValueError as error:
                wrong.append(WrongParameter(name, text, str(error)))
        elif parameter.is_required:
            more = ": it must be an id" if parameter.kind.name == "id" else ""
            wrong.append(WrongParameter(name, None, f"is missing{more}"))
    for name, text in given.items():
        if name not in known:
            wrong.append(WrongParameter(name, text, f"is not known here; known are: {', '.join(known) or 'none'}"))
    if wrong:
        raise ParameterError(*wrong)
    return values


@cache
def _list_ids(asks: Any) -> tuple[Parameter, ...]:
    """Return the parameters of a class that are ids and are checked."""
    return tuple([p for p in list_parameters(asks) if p.kind.table and p.field not in asks.UNCHECKED])


def _tell_unknown(snapshot: Snapshot, table: str, record_id: str) -> str:
    """Return why an id is none of a table: there is none, or it is retired, and what took its place."""
    if not snapshot.retired.has(table, record_id):
        return f"there is none in {table}"
    places = [one.id for one in find_successors(snapshot, table, record_id)]
    day = snapshot.retired.get_table(table)[record_id,].retired_on
    return f"it was retired on {day}" + (f" and replaced by {' and '.join(places)}" if places else "")


def find_unknown_ids(snapshot: Snapshot, asked: Asks) -> list[WrongParameter]:
    """Return the ids in parameters that no record has."""
    wrong = []
    for parameter in _list_ids(cast(Any, type(asked))):
        value = getattr(asked, parameter.field)
        if not value:
            continue
        table = parameter.kind.table
        index = cast(Mapping[str, Any], getattr(snapshot, table))
        if parameter.kind.name == "pairs":
            value = {one for one, _ in value}
        ids = [value] if parameter.kind.name == "id" else sorted(value)
        about = f"must be the id of a {WORDS[table]}" if parameter.kind.name == "id" else f"must be ids of {table}"
        wrong += [
            WrongParameter(parameter.name, one, f"{about}: {_tell_unknown(snapshot, table, one)}")
            for one in ids
            if one not in index
        ]
    return wrong
