"""What a command asks, as plain data: this process answers it, or the one that serves the store."""

from __future__ import annotations

import dataclasses
import json
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from ontology.errors import InputError, NewelError


@dataclass(frozen=True, slots=True, kw_only=True)
class Call:
    """The name of a question with what is asked, and how the answer is to look.

    It is asked of `subject`, an id or a name of `table` ("" for the company), with texts of parameters by name in
    `asked`, where ids may be names too. The state is told by `as_of`, `people_as_of` and `draft` (empty: the present
    one) and by `language` (empty: the main one); `paths` are files and folders, as whole paths, that stand for states
    of parameters, by name. `form` is "text", "json", or one that files can have. A text has `width` columns and uses
    one of rich's systems of `colours` (None: no colours and no styles); `is_plain`: styles come without colours
    (NO_COLOR). `act` is what to carry out of the answer (empty: nothing), `said` what is written down with that.
    """

    question: str
    table: str = ""
    subject: str = ""
    asked: Mapping[str, str] = field(default_factory=dict)
    form: str = "text"
    width: int = 100
    colours: str | None = None
    is_plain: bool = False
    act: str = ""
    said: Mapping[str, str] = field(default_factory=dict)
    as_of: str = ""
    people_as_of: str = ""
    draft: str = ""
    language: str = ""
    paths: Mapping[str, str] = field(default_factory=dict)


class ToldError(NewelError):
    """An error that the server told; `problem` and `exit_code` are those it would have had here."""

    def __init__(self, detail: str, problem: dict[str, Any], exit_code: int) -> None:
        super().__init__(detail)
        self.problem = problem
        self.exit_code = exit_code


def write_call(call: Call) -> bytes:
    """Return a call as JSON."""
    return json.dumps(dataclasses.asdict(call)).encode()


def read_call(content: bytes) -> Call:
    """Return the call of a JSON text; InputError where another version of this program wrote it."""
    try:
        members: dict[str, Any] = json.loads(content)
        call = Call(**members)
        pairs = (*call.asked.items(), *call.said.items(), *call.paths.items())
        texts = (
            call.question,
            call.table,
            call.subject,
            call.form,
            call.act,
            call.as_of,
            call.people_as_of,
            call.draft,
            call.language,
            *(text for pair in pairs for text in pair),
        )
        if not all(isinstance(text, str) for text in texts) or not 1 <= call.width <= 10_000:
            raise TypeError
    except (ValueError, TypeError, AttributeError):
        raise InputError("This is no call that the server understands: is it of another version?") from None
    return call
