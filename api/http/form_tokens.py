"""A change asked for with a session is one that a page of ours asked for: its form holds a token.

The token stands for the session (OWASP ASVS 5.0.0, V3.5.1) and stays the same as long as that lasts, also when its
secret is renewed, so that a form that was opened before can still be sent. Flask-WTF signs and compares it, with a key
that is made at the first start; its forms are not used.
"""

from __future__ import annotations

import hashlib
import hmac
import logging
import re
from typing import Any, Final

from flask import Flask, Request
from flask.sessions import SessionInterface, SessionMixin
from flask_wtf.csrf import CSRFError, CSRFProtect, generate_csrf
from werkzeug.datastructures import ImmutableMultiDict

from api.access.access import Access
from api.access.keys import get_key
from api.http.context import SAFE_METHODS, get_request, get_settings
from api.http.signed_in import find_session
from ontology.errors import ForbiddenError

#: The field of a form that holds the token; a program that has a session sends it in the header X-CSRFToken.
FIELD: Final = "form-token"
_KEY: Final = "form tokens"
_FORM: Final = "<form"
#: What follows that in a form that changes something. Texts are escaped, so no other `<` or `>` can stand in the tag.
_CHANGES: Final = re.compile(r"\b[^>]*\bmethod=\"post\"[^>]*>", re.IGNORECASE)
#: Where a form may be as large as an upload.
_UPLOADS: Final = frozenset({"/loads/new"})
_REFUSED: Final = "This form was not opened with your present sign-in. Open its page again, then send it."


def protect_forms(app: Flask, access: Access) -> None:
    """Refuse every change that comes with a session and without its token, under /api too."""
    app.secret_key = get_key(access.database, _KEY)
    app.session_interface = _Tokens(app.secret_key)
    app.config |= {
        "WTF_CSRF_CHECK_DEFAULT": False,
        "WTF_CSRF_FIELD_NAME": FIELD,
        "WTF_CSRF_TIME_LIMIT": None,  # as long as the session
        "WTF_CSRF_SSL_STRICT": False,  # the origin is compared instead
    }
    protect = CSRFProtect(app)
    # a refusal is answered; which page it was is nobody's business
    logging.getLogger("flask_wtf.csrf").setLevel(logging.WARNING)

    def require_token() -> None:
        request = get_request()
        # a program's token is in no cookie, so no page of others can send it along; nor can a session that has ended
        # do harm, and whoever has one is to be able to sign in
        if request.method in SAFE_METHODS or find_session() is None:
            return
        if request.path in _UPLOADS:
            request.max_content_length = get_settings().max_upload_bytes
        try:
            protect.protect()
        except CSRFError:
            raise ForbiddenError(_REFUSED) from None
        # whoever reads the form sees what was typed alone
        told = [(name, text) for name, text in request.form.items(multi=True) if name != FIELD]
        request.form = ImmutableMultiDict(told)

    app.before_request(require_token)


def add_tokens(text: str) -> str:
    """Return a page with the token in every form that changes something, where somebody has signed in."""
    if find_session() is None:
        return text
    parts, done, at = [], 0, text.find(_FORM)
    while at >= 0:
        at += len(_FORM)
        tag = _CHANGES.match(text, at)
        if tag is not None:
            parts += [text[done : tag.end()], f'<input type="hidden" name="{FIELD}" value="{generate_csrf()}">']
            done = tag.end()
        at = text.find(_FORM, at)
    return "".join((*parts, text[done:])) if parts else text


class _Token(dict[str, Any], SessionMixin):
    """What Flask-WTF compares a token with: worked out of the session when it is asked for, and kept nowhere."""

    def __init__(self, key: str) -> None:
        super().__init__()
        self._key = key

    def __contains__(self, name: object) -> bool:
        return name == FIELD and find_session() is not None

    def __getitem__(self, name: str) -> str:
        session = find_session()
        if name != FIELD or session is None:
            raise KeyError(name)
        told = f"{session.number} {session.made_at!r}"
        return hmac.new(self._key.encode(), told.encode(), hashlib.sha256).hexdigest()


class _Tokens(SessionInterface):
    def __init__(self, key: str) -> None:
        self._token = _Token(key)

    def open_session(self, app: Flask, request: Request) -> _Token:
        """Return the same for every request: what it says is worked out of the one that is answered."""
        return self._token

    def is_null_session(self, obj: object) -> bool:
        """Say that there is nothing to keep: sessions are rows of the database."""
        return True
