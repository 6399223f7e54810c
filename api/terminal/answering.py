"""A command's call answered at a desk: names made ids, the answer written as text, as JSON or as a file.

Where a store is served the server runs this for the command, so what is printed is the same.
"""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Final

from api.access.actor import LOCAL_OWNER
from api.desk.desk import Answer, Desk
from api.desk.named_states import NamedState, describe_file
from api.desk.naming import get_id, require_ids
from api.desk.parameters import Asks, list_parameters, parse_asked
from api.desk.question import COMPANY, Question, Subject, SubjectKind
from api.desk.states import State, StateAsked
from api.json_text import print_json
from api.questions import load_question
from api.terminal.call import Call
from api.terminal.who import get_who
from ontology.errors import InputError
from ontology.snapshot.snapshot import Snapshot

#: What is no question about a subject: the call that `newel history` makes.
HISTORY: Final = "history"
#: Likewise of `newel sparql`.
SPARQL: Final = "sparql"
#: And the one of `newel draft`, `newel publish` and `newel release`.
DRAFT: Final = "draft"


def list_file_forms(question: Question) -> list[str]:
    """Return the forms in which an answer can be written to a file, each the ending of its name."""
    return sorted({"html", "xlsx", *question.files})


def answer_call(desk: Desk, call: Call) -> bytes:
    """Return what is printed, or what stands in the file.

    Raises
    ------
    NewelError
        What `desk.ask` and `desk.carry_out` raise; a name that means no record or several.
    """
    if call.question == HISTORY:
        from api.terminal.history_text import answer_history  # brings schemas, and an RDF library

        return answer_history(desk, call)
    if call.question == SPARQL:
        from api.terminal.sparql_text import answer_sparql

        return answer_sparql(desk, call)
    if call.question == DRAFT:
        from api.terminal.draft_text import answer_draft  # brings an RDF library

        return answer_draft(desk, call)
    try:
        question = load_question(call.question)
        kind = SubjectKind(call.table)
        asks = question.asks[kind]
    except (KeyError, ValueError):
        raise InputError(f"There is no question {call.question!r} about this.") from None
    state = desk.get_state(StateAsked(call.as_of, call.people_as_of, call.draft, call.language))
    snapshot = state.snapshot
    # drafts are called by their ids alone
    is_named = kind not in (COMPANY, SubjectKind.DRAFT)
    subject = Subject(kind, get_id(snapshot, kind.value, call.subject) if is_named else call.subject)
    asked = parse_asked(asks, _find_ids(snapshot, asks, call.asked))
    answer = desk.ask(LOCAL_OWNER, state, question, subject, asked, _read_files(asks, call, state))
    written = _write(answer, call)
    if not call.act:
        return written
    act = question.acts.get(call.act)
    if act is None:
        raise InputError(f"An answer to {question.name!r} cannot be carried out as {call.act!r}.")
    done = act.done(desk.carry_out(answer, act, call.said, who=get_who()))
    return written + f"{done}\n".encode() if call.form == "text" else written


def _find_ids(snapshot: Snapshot, asks: type[Asks], texts: Mapping[str, str]) -> dict[str, str]:
    """Return the texts with every name of a record made its id."""
    found = dict(texts)
    for parameter in list_parameters(asks):
        text = texts.get(parameter.name)
        if text and parameter.kind.table:
            found[parameter.name] = require_ids(snapshot, parameter, text)
    return found


def _read_files(asks: type[Asks], call: Call, state: State) -> dict[str, NamedState]:
    """Return field -> the state that the files are which are named there.

    Raises
    ------
    FileFormatError, LimitError
        One of them cannot be read.
    """
    if not call.paths:
        return {}
    from loaders.pipeline import load_state  # brings the loaders

    found = {}
    for parameter in list_parameters(asks):
        if parameter.name in call.paths:
            loaded = load_state(Path(call.paths[parameter.name]))
            found[parameter.field] = describe_file(call.asked[parameter.name], *loaded, state)
    return found


def _write(answer: Answer, call: Call) -> bytes:
    if call.form == "json":
        return f"{print_json(answer.members)}\n".encode()
    if call.form == "text":
        from api.terminal.sheet_text import print_sheet  # brings rich

        return print_sheet(answer.build_sheet(), answer.enquiry.state.snapshot.revision, call)
    if call.form not in list_file_forms(answer.enquiry.question):
        raise InputError(f"There is no file of this that ends in .{call.form}.")
    own = answer.enquiry.question.files.get(call.form)
    if own is not None:
        return own.build(answer)
    if call.form == "html":
        from api.pages.writing import render_file  # brings the templates

        return render_file(answer).encode()
    from api.desk.sheet_workbook import build_sheet_workbook  # brings the spreadsheet writer

    return build_sheet_workbook(answer.build_sheet())
