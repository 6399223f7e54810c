"""Commands from questions: `newel NAME ID`, an option for each parameter, the sheet as text or the answer as JSON.

A command is built only when it is called: listing them imports no question.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any, Final

import click

from api.desk.kinds import WORDS
from api.desk.parameters import TODAY, USUAL_TIME, Asks, Parameter, format_asked, list_parameters
from api.desk.question import COMPANY, PERSON, ROLE, Question, SubjectKind

__all__ = ["build_question_command"]

_METAVARS: Final = {
    "whole": "N",
    "number": "N",
    "date": "DAY",
    "dates": "DAY,DAY",
    "text": "TEXT",
}

Ask = Callable[[Question, SubjectKind, str, Asks, bool, Path | None, Path], None]


class _Value(click.ParamType[Any]):
    """The text of a parameter, read as the parameter says."""

    def __init__(self, parameter: Parameter) -> None:
        self.parameter = parameter
        self.name = parameter.kind.name

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Any:
        """Return the value, or end with a usage error."""
        if not isinstance(value, str):
            return value
        if self.parameter.kind.name in ("id", "ids"):
            return value  # a name or an id: only the store can tell
        try:
            return self.parameter.parse(value)
        except ValueError as error:
            self.fail(f"{value!r} {error}", param, ctx)


def build_question_command(question: Question, ask: Ask) -> click.Command:
    """Return the command that asks a question.

    Parameters
    ----------
    question : Question
    ask : callable
        (question, kind of subject, id or name, what is asked, as JSON, file or None, store): answers and prints.
    """
    parameters = _list_all(question)
    options = [_build_option(parameter) for parameter in parameters.values() if parameter.name != "from"]
    if ROLE in question.asks and PERSON in question.asks:
        about = "Start from this role's full profile."
        options.append(click.Option(["--from", "from_role"], metavar="ROLE", help=about))
    file_names = ["--to-file", "to_file"] if "to" in parameters else ["--to", "--to-file", "to_file"]
    options += [
        click.Option(file_names, type=click.Path(path_type=Path, dir_okay=False), metavar="FILE",
                     help="Write it to a file: .xlsx, .html" + "".join(f", .{name}" for name in question.files) + "."),
        click.Option(["--json", "as_json"], is_flag=True, help="Print the answer as the API gives it."),
        click.Option(["--store"], type=click.Path(path_type=Path, file_okay=False), envvar="NEWEL_STORE",
                     default=Path("newel-store"), show_default=True, help="Folder of the store."),
    ]  # fmt: skip

    def run(words: tuple[str, ...] = (), **values: Any) -> None:
        as_json, store, to_file = values.pop("as_json"), values.pop("store"), values.pop("to_file")
        kind, subject, given = _sort_words(question, words, values)
        ask(question, kind, subject, question.asks[kind](**given), as_json, to_file, store)

    arguments: list[click.Parameter] = []
    if tuple(question.asks) != (COMPANY,) or any(parameter.is_word for parameter in parameters.values()):
        arguments.append(click.Argument(["words"], nargs=-1, metavar=_describe_words(question)))
    return click.Command(question.name, callback=run, params=[*arguments, *options], help=question.title + ".")


def _list_all(question: Question) -> dict[str, Parameter]:
    """Return the parameters of a question, of whatever it is asked, by name."""
    return {parameter.name: parameter for asks in question.asks.values() for parameter in list_parameters(asks)}


def _build_option(parameter: Parameter) -> click.Option:
    flag = "--" + parameter.name.replace("_", "-")
    about = parameter.about
    if parameter.kind.name == "flag":
        return click.Option([flag, parameter.field], is_flag=True, help=about)
    metavar = _METAVARS.get(parameter.kind.name, "")
    if parameter.kind.name == "pairs":
        metavar = "PERSON:PLACE,..."
    elif parameter.kind.table:
        metavar = WORDS[parameter.kind.table].upper() + (",..." if parameter.kind.name == "ids" else "")
    if parameter.kind.name == "choice":
        metavar = "|".join(parameter.kind.choices)
    default = parameter.default_text
    if default:
        about = about.removesuffix(".") + f" (default: {default})."
    is_open = parameter.is_required or parameter.default in (TODAY, USUAL_TIME)
    return click.Option(
        [flag, parameter.field],
        type=_Value(parameter),
        required=parameter.is_required and not parameter.is_word,
        default=None if is_open else parameter.default,
        metavar=metavar,
        help=about,
    )


def _describe_words(question: Question) -> str:
    words = [kind.word.upper() for kind in question.asks if kind is not COMPANY]
    first = [words[0] if len(words) == 1 else f"[{words[0]}]"] if words else []
    asked = [p for asks in question.asks.values() for p in list_parameters(asks) if p.is_word]
    more = [WORDS[p.kind.table].upper() if p.kind.table else f"{p.name.upper()}..." for p in asked]
    return " ".join([*first, *dict.fromkeys(f"[{word}]" for word in more)])


def _sort_words(
    question: Question, words: tuple[str, ...], values: dict[str, Any]
) -> tuple[SubjectKind, str, dict[str, Any]]:
    """Return of what is asked, its id or name, and the parameters, from the words and options of a call.

    With ``--from`` a role's profile is the start: of a question about a role that asks "from" another, the first word
    is the role; otherwise the role of ``--from`` is what is asked of.
    """
    from_role = values.pop("from_role", None)
    kind = ROLE if from_role is not None else next(iter(question.asks))
    parameters = list_parameters(question.asks[kind])
    given = {p.field: values[p.field] for p in parameters if values.get(p.field) is not None}
    rest = list(words)
    if kind is COMPANY:
        subject = ""
    elif from_role is not None and "from" not in {p.name for p in parameters}:
        subject = from_role
    else:
        if from_role is not None:
            given["from_role"] = from_role
            if not rest and values.get("role"):
                rest.append(values["role"])
        if not rest:
            raise click.UsageError(f"Name the {kind.word}." if from_role is None else "Name the role.")
        subject = rest.pop(0)
    for parameter in parameters:
        if parameter.is_word and parameter.field not in given:
            if rest and parameter.kind.name == "text":
                given[parameter.field], rest = " ".join(rest), []
            elif rest:
                given[parameter.field] = rest.pop(0)
            elif parameter.is_required:
                raise click.UsageError(f"Name the {parameter.name}.")
    if rest:
        raise click.UsageError(f"One word too many: {rest[0]!r}.")
    for parameter in parameters:
        value = given.get(parameter.field)
        if parameter.kind.name == "ids" and isinstance(value, str):
            given[parameter.field] = frozenset(part.strip() for part in value.split(",") if part.strip())
    return kind, subject, given


def describe_call(asked: Asks) -> str:
    """Return the options that ask this, as one would type them."""
    return " ".join(f"--{name.replace('_', '-')} {text}" for name, text in format_asked(asked).items())
