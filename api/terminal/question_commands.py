"""Commands from questions: `newel NAME ID`, an option for each parameter, the sheet as text or the answer as JSON.

A command is built only when it is called: listing them imports no question. Values stay texts, as in an address; they
are read here only to say at once what is wrong with them.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import Any, Final

import click

from api.desk.kinds import WORDS
from api.desk.parameters import Parameter, list_parameters
from api.desk.question import COMPANY, PERSON, ROLE, Question, SubjectKind
from api.desk.states import LANGUAGE, STATE_PARAMETERS
from api.terminal.answering import list_file_forms
from api.terminal.call import Call
from api.terminal.look import build_call
from api.terminal.options import json_option, language_option, state_options, store_option
from ontology.errors import InputError

_METAVARS: Final = {
    "whole": "N",
    "number": "N",
    "date": "DAY",
    "dates": "DAY,DAY",
    "pairs": "PERSON:PLACE,...",
    "state": "STATE",
    "outside": "ID",
    "words": "DIR",
    "text": "TEXT",
}
#: Kinds of several values with commas between them.
_SEVERAL: Final = ("dates", "ids", "pairs")
#: Kinds of which only the store can tell whether a value is right: it may be a name.
_NAMES: Final = ("id", "ids", "pairs")

Ask = Callable[[Call, Path | None, Path], None]


class _Value(click.ParamType[str]):
    """The text of a parameter, if it can be read as the parameter says."""

    def __init__(self, parameter: Parameter) -> None:
        self.parameter = parameter
        self.name = parameter.kind.name

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> str:
        """Return the text, or end with a usage error."""
        text = str(value)
        if self.name == "words":
            return _read_words(self, text, param, ctx)
        if self.name in _SEVERAL:
            text = ",".join(part.strip() for part in text.split(","))
        if self.name == "pairs" and any(part.count(":") > 1 for part in text.split(",")):
            self.fail(f"{text!r} must be people, each with or without a place after a colon", param, ctx)
        if self.name not in _NAMES:
            try:
                self.parameter.parse(text)
            except ValueError as error:
                self.fail(f"{text!r} {error}", param, ctx)
        return text


def _read_words(value: _Value, text: str, param: click.Parameter | None, ctx: click.Context | None) -> str:
    """Return the word lists of a folder as one text, or end with a usage error."""
    from ontology.analysis.health.word_lists import read_word_lists  # brings numpy

    try:
        lists = read_word_lists(Path(text))
        value.parameter.parse(lists)
    except (InputError, ValueError) as error:
        detail = error.detail if isinstance(error, InputError) else f"What {text} holds {error}"
        value.fail(detail, param, ctx)
    return lists


def build_question_command(question: Question, ask: Ask) -> click.Command:
    """Return the command that asks a question; `ask` answers and prints a call: (call, file or None, store)."""
    parameters = {p.name: p for asks in question.asks.values() for p in list_parameters(asks)}
    starts_from_role = {PERSON, ROLE} <= set(question.asks)
    options = [_build_option(p) for p in parameters.values() if not (starts_from_role and p.name == "from")]
    if starts_from_role:
        about = "Start from someone fully in this role."
        options.append(click.Option(["--from"], metavar="ROLE", help=about))
    is_about_languages = LANGUAGE in parameters
    file_flag = "--to-file" if "to" in parameters else "--to"
    forms = list_file_forms(question)
    endings = ", ".join(f".{form}" for form in forms)
    options.append(
        click.Option(
            [file_flag, "to_file"],
            type=click.Path(path_type=Path, dir_okay=False),
            metavar="FILE",
            help=f"Write it to a file that ends in one of {endings}.",
        )
    )

    options += [click.Option([f"--{name}"], is_flag=True, help=act.about) for name, act in question.acts.items()]

    def run(said: tuple[str, ...] = (), **values: Any) -> None:
        as_json, store, to_file = values.pop("as_json"), values.pop("store"), values.pop("to_file")
        of_state = {name: values.pop(name) for name in STATE_PARAMETERS}
        language = values.get("language") if is_about_languages else values.pop("language")
        acts = [name for name in question.acts if values.pop(name)]
        kind, subject, asked = _sort_words(question, said, values)
        form = None
        if to_file is not None:
            form = to_file.suffix.removeprefix(".").lower()
            if form not in forms:
                raise click.UsageError(f"A file of this can end in one of {endings}; {to_file.name} does not.")
        call = build_call(
            question.name,
            as_json=as_json,
            table=kind.value,
            subject=subject,
            asked=asked,
            form=form,
            act=acts[0] if acts else None,
            **of_state,
            language=language,
            paths=_find_paths(list_parameters(question.asks[kind]), asked),
        )
        ask(call, to_file, store)

    has_words = tuple(question.asks) != (COMPANY,) or any(parameter.is_word for parameter in parameters.values())
    arguments = [click.Argument(["said"], nargs=-1, metavar=_describe_words(question))] if has_words else []
    command = click.Command(question.name, callback=run, params=[*arguments, *options], help=question.title + ".")
    if not is_about_languages:
        command = language_option(command)
    return state_options(store_option(json_option(command)))


def _find_paths(parameters: Sequence[Parameter], asked: Mapping[str, str]) -> dict[str, str]:
    """Return the files and folders that are named where a state could be, by name of the parameter."""
    texts = {
        parameter.name: asked.get(parameter.name, "") for parameter in parameters if parameter.kind.name == "state"
    }
    return {name: str(Path(text).resolve()) for name, text in texts.items() if text and Path(text).exists()}


def _build_option(parameter: Parameter) -> click.Option:
    flag = "--" + parameter.name.replace("_", "-")
    if parameter.kind.name == "flag":
        return click.Option([flag, parameter.name], is_flag=True, help=parameter.about)
    metavar = _METAVARS.get(parameter.kind.name, "")
    if parameter.kind.name in ("id", "ids"):
        metavar = WORDS[parameter.kind.table].upper() + (",..." if parameter.kind.name == "ids" else "")
    if parameter.kind.name == "choice":
        metavar = "|".join(parameter.kind.choices)
    about = parameter.about + (" A file or folder, too." if parameter.kind.name == "state" else "")
    if parameter.default_text:
        about = about.removesuffix(".") + f" (default: {parameter.default_text})."
    return click.Option(
        [flag, parameter.name],
        type=_Value(parameter),
        required=parameter.is_required and not parameter.is_word,
        metavar=metavar,
        help=about,
    )


def _describe_words(question: Question) -> str:
    words = [kind.word.upper() for kind in question.asks if kind is not COMPANY]
    first = [words[0] if len(words) == 1 else f"[{words[0]}]"] if words else []
    asked = [p for asks in question.asks.values() for p in list_parameters(asks) if p.is_word]
    # a text may be several words
    more = [
        WORDS[p.kind.table].upper() if p.kind.table else p.name.upper() + "..." * (p.kind.name == "text") for p in asked
    ]
    return " ".join([*first, *dict.fromkeys(f"[{word}]" for word in more)])


def _sort_words(
    question: Question, words: tuple[str, ...], values: Mapping[str, Any]
) -> tuple[SubjectKind, str, dict[str, str]]:
    """Return of what is asked, its id or name, and the texts of parameters, from the words and options of a call.

    With ``--from`` a role's profile is the start: of a question about a role that asks "from" another, the first word
    is the role; otherwise the role of ``--from`` is what is asked of.
    """
    given = {name: "yes" if value is True else value for name, value in values.items() if value not in (None, False)}
    rest = list(words)
    kind = next(iter(question.asks))
    from_role = given.get("from") if {PERSON, ROLE} <= set(question.asks) else None
    if from_role is not None:
        kind = ROLE
    parameters = list_parameters(question.asks[kind])
    names = {parameter.name for parameter in parameters}
    if kind is COMPANY:
        subject = ""
    elif from_role is not None and "from" not in names:
        subject = given.pop("from")
    else:
        if from_role is not None and not rest and "role" in given:
            rest.append(given.pop("role"))
        if not rest:
            raise click.UsageError(f"Name the {kind.word}.")
        subject = rest.pop(0)
    for parameter in parameters:
        if parameter.is_word and parameter.name not in given:
            if rest and parameter.kind.name == "text":
                given[parameter.name], rest = " ".join(rest), []
            elif rest:
                given[parameter.name] = rest.pop(0)
            elif parameter.is_required:
                raise click.UsageError(f"Name the {parameter.name}.")
    if rest:
        raise click.UsageError(f"One word too many: {rest[0]!r}.")
    for name in given:
        if name not in names:
            raise click.UsageError(f"--{name.replace('_', '-')} is not asked of a {kind.word}.")
    return kind, subject, given
