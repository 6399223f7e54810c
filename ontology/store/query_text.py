"""What may not stand in a query from outside: words that would leave the graphs it is answered from.

The engine passes over FROM, and sends requests to other hosts for SERVICE; both are refused before it sees them.
Whoever hides them well enough gains nothing: the process that answers can open no socket and sees three graphs only.
"""

from __future__ import annotations

import re
from typing import Final

__all__ = ["find_refusal"]

#: What hides words (SPARQL 1.1, section 19.8): long strings, strings, IRIs, comments, escaped characters.
_HIDING: Final = re.compile(
    r'"""(?:(?:"|"")?(?:[^"\\]|\\.))*"""'
    r"|'''(?:(?:'|'')?(?:[^'\\]|\\.))*'''"
    r'|"(?:[^"\\\n\r]|\\.)*"'
    r"|'(?:[^'\\\n\r]|\\.)*'"
    r'|<[^<>"{}|^`\\\x00-\x20]*>'
    r"|#[^\n\r]*"
    r"|\\.",
    re.DOTALL,
)
#: A word is bare where it is no part of a variable, a prefixed name or a blank node.
_BARE: Final = re.compile(r"(?<![\w:?$@.\-])(FROM|SERVICE)(?![\w:\-])", re.IGNORECASE)
_WHY: Final = {
    "FROM": "FROM is not read: a query is asked of the vocabulary, the framework and the offers; the parameters "
    "default-graph-uri and named-graph-uri choose among them.",
    "SERVICE": "SERVICE is not allowed: no other host is asked.",
}


def find_refusal(query: str) -> str:
    """Return why the text of a query is refused, the empty string where it may be tried.

    Notes
    -----
    One pass, O(characters). Escapes of code points (SPARQL 1.1, section 19.2) spell no keyword for this engine.

    Examples
    --------
    >>> find_refusal("SELECT * { ?s ?p 'from', <urn:x:service> } # FROM")
    ''
    >>> find_refusal("SELECT * { service<urn:x> { ?s ?p ?o } }")
    'SERVICE is not allowed: no other host is asked.'
    """
    bare = _BARE.search(_HIDING.sub(" ", query))
    return _WHY[bare[1].upper()] if bare else ""
