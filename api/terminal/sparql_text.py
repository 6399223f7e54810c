"""What a query found, as a command prints it: a table, or the forms that the endpoint has."""

from __future__ import annotations

from api.desk.desk import Desk
from api.desk.sparql import GRAPH_FORMS, ROW_FORMS, answer_query
from api.desk.sparql_sheet import build_sparql_sheet, tell_answer
from api.terminal.call import Call


def answer_sparql(desk: Desk, call: Call) -> bytes:
    """Return what `newel sparql` prints; errors as `answer_query`."""
    as_text = call.form == "text"
    answer = answer_query(
        desk.graph.store,
        desk.settings,
        call.asked.get("query", ""),
        rows_form="json" if as_text else call.form if call.form in ROW_FORMS else "",
        graph_form="turtle" if as_text else call.form if call.form in GRAPH_FORMS else "",
    )
    if not as_text:
        return answer.content if answer.content.endswith(b"\n") else answer.content + b"\n"
    if answer.form == "turtle":
        # a line that Turtle passes over
        return answer.content + f"# {tell_answer(answer)}\n".encode()
    from api.terminal.sheet_text import print_sheet  # brings rich

    return print_sheet(build_sparql_sheet(answer), answer.revision, call)
