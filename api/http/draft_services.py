"""What the pages and the addresses of drafts share: tags, how conflicts are decided, what is published. Flask."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any, Final, Literal

from flask import Request

from api.desk.drafts import DraftView, read_draft, tell_refusal
from api.desk.states import NOW
from api.errors import FieldError, FieldsError
from api.http.actors import get_who
from api.http.context import get_desk
from ontology.errors import NewelError, PreconditionMissingError, StaleError

if TYPE_CHECKING:  # brings the store
    from ontology.store.drafts import Draft
    from ontology.store.releases import Release

Side = Literal["draft", "published"]
Take = Side | Mapping[tuple[str, str, str | None], Side]
_KEY: Final = 12
_STALE: Final = "The draft was edited since you read it; read it again, then repeat this."


def read_present_draft(draft_id: str) -> DraftView:
    """Return a draft as it is now; UnknownIdError where there is none."""
    desk = get_desk()
    return read_draft(desk.graph, desk.get_state(NOW), draft_id)


def publish(draft_id: str, **asked: Any) -> Release:
    """Publish a draft and return its release; what stands against it is told all at once."""
    # brings the checks
    from ontology.live.publishing import publish_draft

    desk = get_desk()
    try:
        return publish_draft(desk.graph, draft_id, who=get_who(), **asked)
    except NewelError as error:
        tell_refusal(error, desk.get_state(NOW))
        raise


def get_tag(draft: Draft) -> str:
    """Return what stands for a draft as it was edited last: whoever changes it says which one they read."""
    return f"{draft.key[:_KEY]}-{draft.number}"


def get_whole_tag(draft: Draft) -> str:
    """Return the tag of what is told of a draft: that, with its state and what it is seen on."""
    state = get_desk().get_state(NOW)
    return f"{get_tag(draft)}.{draft.state}.{state.snapshot.revision}.{state.today}"


def find_number(tag: str, draft: Draft) -> int:
    """Return the number of a draft where a tag is of it as it is now; StaleError where it is not."""
    if tag.partition(".")[0] != get_tag(draft):
        raise StaleError(_STALE, present=draft.number)
    return draft.number


def read_if_match(request: Request, draft: Draft) -> int | None:
    """Return the number that a draft must have still, by If-Match; None where any is fine.

    Raises
    ------
    PreconditionMissingError
        There is no If-Match.
    StaleError
        It is of another state of the draft.
    """
    if request.headers.get("If-Match") is None:
        raise PreconditionMissingError("Changing a draft needs If-Match with the tag it was read with.")
    if request.if_match.star_tag:
        return None
    for tag in request.if_match.as_set():
        if tag.partition(".")[0] == get_tag(draft):
            return draft.number
    raise StaleError(_STALE, present=draft.number)


def read_take(everywhere: Any, one_by_one: Sequence[Mapping[str, Any]]) -> Take:
    """Return how conflicts are decided; FieldsError where it is said in both ways.

    Nothing said decides nothing.
    """
    if everywhere and one_by_one:
        raise FieldsError("Decide all for one side, or one by one.", [FieldError("/take", None, "cannot go with all")])
    if everywhere:
        side: Side = everywhere
        return side
    return {(one["table"].replace("-", "_"), one["id"], one.get("column") or None): one["value"] for one in one_by_one}
