"""Words that tell nothing one could see, and words of what one does: lists in text files, one pair a language.

A file `vague.en.txt` or `acts.en.txt` holds a word a line; one that ends in * stands for all that begin so; what
follows # is a note. Those of the package are ours.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Final

from ontology.analysis.likeness.labels import normalise
from ontology.errors import InputError

__all__ = ["OWN_LISTS", "WordLists", "find_lists", "get_own_lists", "parse_word_lists", "read_word_lists"]

#: The folder of the lists of the package.
OWN_LISTS: Final = Path(__file__).parent / "words"
_FILE: Final = re.compile(r"(vague|acts)\.([a-z]{2,3}(?:-[a-z0-9]{2,8})*)\.txt")
_LIST: Final = re.compile(r"\s*(vague|acts)\.([a-z]{2,3}(?:-[a-z0-9]{2,8})*)\s*:(.*)", re.DOTALL)
_WORD: Final = re.compile(r"\w+\*?")


@dataclass(frozen=True, slots=True)
class _Words:
    """Whole words, and beginnings of words."""

    whole: frozenset[str]
    beginnings: tuple[str, ...]

    def find(self, words: Iterable[str]) -> str:
        """Return the first of some words that is in the list; "" where none is."""
        return next((word for word in words if word in self.whole or word.startswith(self.beginnings)), "")


@dataclass(frozen=True, slots=True)
class WordLists:
    """The two lists of a language."""

    vague: _Words
    acts: _Words


def read_word_lists(folder: Path) -> str:
    """Return the lists of a folder as one text: `vague.en: aware*, good; acts.en: name*; ...`.

    Raises
    ------
    InputError
        The folder holds no such file, or cannot be read.
    """
    try:
        files = [path for path in sorted(folder.iterdir()) if _FILE.fullmatch(path.name)]
        texts = {path.name.removesuffix(".txt"): path.read_text("utf-8") for path in files}
    except (OSError, UnicodeDecodeError) as error:
        raise InputError(f"The word lists in {folder} cannot be read: {error}.") from None
    if not texts:
        raise InputError(f"There are no word lists in {folder}: files like vague.en.txt and acts.en.txt.")
    return "; ".join(f"{name}: {', '.join(_iterate_lines(text))}" for name, text in texts.items())


def _iterate_lines(text: str) -> Iterator[str]:
    for line in text.splitlines():
        word = line.partition("#")[0].strip().casefold()
        if word:
            yield word


def parse_word_lists(text: str) -> dict[str, WordLists]:
    """Return language -> its lists, of a text as `read_word_lists` makes it.

    Raises
    ------
    ValueError
        Says what would be right.

    Examples
    --------
    >>> lists = parse_word_lists("vague.en: aware*, good; acts.en: name, names")["en"]
    >>> lists.vague.find(["awareness"]), lists.acts.find(["naming", "names"]), lists.acts.find(["surname"])
    ('awareness', 'names', '')
    """
    found: dict[tuple[str, str], _Words] = {}
    for part in text.split(";"):
        if not part.strip():
            continue
        match = _LIST.fullmatch(part)
        if match is None:
            raise ValueError("must be lists like vague.en: aware*, good; acts.en: name*, set")
        name, language, listed = match.groups()
        words = [word.strip().casefold() for word in listed.split(",") if word.strip()]
        wrong = [word for word in words if not _WORD.fullmatch(word)]
        if wrong:
            raise ValueError(f"must hold single words, with or without * at the end; {wrong[0]!r} is none")
        found[name, language] = _build(words)
    languages = sorted({language for _, language in found})
    missing = [f"{name}.{one}" for one in languages for name in ("vague", "acts") if (name, one) not in found]
    if missing:
        raise ValueError(f"must hold both lists of a language; {missing[0]} is missing")
    return {one: WordLists(found["vague", one], found["acts", one]) for one in languages}


def _build(words: Iterable[str]) -> _Words:
    whole = frozenset(normalise(word) for word in words if not word.endswith("*"))
    return _Words(whole, tuple(sorted({normalise(word) for word in words if word.endswith("*")})))


def find_lists(lists: Mapping[str, WordLists], language: str) -> WordLists | None:
    """Return the lists of a language, else those of the language it is a form of; None where there are none.

    RFC 4647, section 3.4 (lookup): the tag is shortened from its end until there is something; a single letter at the
    end goes with what stood behind it.

    Examples
    --------
    >>> lists = parse_word_lists("vague.de: gut; acts.de: misst")
    >>> find_lists(lists, "de-AT-x-plain") is lists["de"], find_lists(lists, "den")
    (True, None)
    """
    tag = language.casefold()
    while tag and tag not in lists:
        tag = tag.rpartition("-")[0]
        if tag[-2:-1] == "-":
            tag = tag[:-2]
    return lists.get(tag)


@cache
def get_own_lists() -> Mapping[str, WordLists]:
    """Return the lists of the package, read once."""
    return parse_word_lists(read_word_lists(OWN_LISTS))
