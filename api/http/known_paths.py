"""Which rule a path of an address follows: found out once, then known.

To find it, and what Flask does before that, is a tenth of a short answer: most of what is asked was asked before.
"""

from __future__ import annotations

from typing import Any, Final

from flask import Request
from werkzeug.routing import Map, MapAdapter

_METHODS: Final = frozenset({"GET", "HEAD"})
#: So many paths are known, none longer than so many characters.
_MOST: Final = 10_000
_LONGEST: Final = 200
#: (Method, path) -> the rule and what the path says, as `MapAdapter.match` returns them.
_Known = dict[tuple[str, str], tuple[Any, dict[str, Any]]]


class KnownPaths:
    """The paths that led anywhere in a map of rules, which does not change any more once the first is asked for."""

    def __init__(self, rules: Map) -> None:
        self._rules = rules
        self._known: _Known = {}

    def bind(self, request: Request) -> MapAdapter:
        """Return what matches a request; as Flask does it where neither hosts nor subdomains have rules of their own.

        Raises
        ------
        HTTPException
            The name of the host is none.
        """
        return _Bound(self._known, self._rules, request)


class _Bound(MapAdapter):
    def __init__(self, known: _Known, rules: Map, request: Request) -> None:
        query = request.query_string.decode("latin-1")
        place = request.host, request.root_path, "", request.scheme, request.path
        super().__init__(rules, *place, request.method, query)
        self._known = known

    def match(self, *args: Any, **options: Any) -> Any:
        """Return the rule and what the path says, as `MapAdapter.match`."""
        method, path = self.default_method, self.path_info
        if args or options != {"return_rule": True} or method not in _METHODS or len(path) > _LONGEST:
            return super().match(*args, **options)
        found = self._known.get((method, path))
        if found is None:
            rule, values = super().match(return_rule=True)
            if len(self._known) >= _MOST:
                self._known.clear()
            found = self._known[method, path] = rule, dict(values)
        return found[0], dict(found[1])
