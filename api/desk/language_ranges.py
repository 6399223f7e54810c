"""Which language is read: ranges as a reader states them, looked up among the languages there are.

RFC 4647, section 3.4 (lookup); RFC 9110, section 12.5.4 (Accept-Language and its weights).
"""

from __future__ import annotations

import re
from collections.abc import Collection, Sequence
from functools import lru_cache
from typing import Final

_RANGE: Final = re.compile(r"[a-z]{1,8}(?:-[a-z0-9]{1,8})*|\*")
_WEIGHT: Final = re.compile(r"q=(0(?:\.[0-9]{0,3})?|1(?:\.0{0,3})?)", re.IGNORECASE)
#: Headers that are kept as read: browsers send the same ones each time.
_KEPT: Final = 500


@lru_cache(maxsize=_KEPT)
def read_accepted(header: str) -> tuple[tuple[str, ...], frozenset[str]]:
    """Return the ranges of an Accept-Language header, the preferred first, and those that are refused (weight 0).

    Of the same weight they stay in their order. What is written wrong is passed over, as if it were not there.

    Examples
    --------
    >>> read_accepted("da, en-gb;q=0.8, en;q=0.7")[0]
    ('da', 'en-gb', 'en')
    """
    weighed: list[tuple[float, str]] = []
    for part in header.lower().split(","):
        language, *parameters = (piece.strip() for piece in part.split(";"))
        weights = [_WEIGHT.fullmatch(one) for one in parameters]
        if _RANGE.fullmatch(language) and len(weights) <= 1 and all(weights):
            weighed.append((float(weights[0][1]) if weights and weights[0] else 1.0, language))
    wanted = sorted((pair for pair in weighed if pair[0]), key=lambda pair: -pair[0])
    return tuple(language for _, language in wanted), frozenset(language for weight, language in weighed if not weight)


def look_up(ranges: Sequence[str], known: Collection[str], default: str, refused: Collection[str] = ()) -> str:
    """Return the language that suits ranges best.

    Parameters
    ----------
    ranges : sequence of str
        In lower case, the preferred first. Each is shortened from its end until a known language is met; `*` says
        too little to find one and is passed over.
    known : collection of str
        Tags in lower case.
    default : str
        Where none is met.
    refused : collection of str
        Languages that are not to be met.

    Examples
    --------
    >>> look_up(("de-at", "fr"), ("de", "fr"), "en"), look_up(("de",), ("de-at",), "en")
    ('de', 'en')
    """
    met = (tag for one in ranges for tag in _shorten(one) if tag in known and tag not in refused)
    return next(met, default)


def _shorten(language: str) -> Sequence[str]:
    """Return a range and what is left of it, shortened step by step; a single letter never stands at an end.

    Examples
    --------
    >>> _shorten("zh-hant-cn-x-private1-private2")
    ['zh-hant-cn-x-private1-private2', 'zh-hant-cn-x-private1', 'zh-hant-cn', 'zh-hant', 'zh']
    """
    parts = language.split("-")
    return [
        "-".join(parts[:end]) for end in range(len(parts), 0, -1) if end in (1, len(parts)) or len(parts[end - 1]) > 1
    ]
