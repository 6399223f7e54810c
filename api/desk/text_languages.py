"""In which language what a state says of its records is: of whole texts, and of names within sentences of ours.

Pages and pictures speak English; a name in another language says so there (WCAG 2.2, success criterion 3.1.2).
"""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Mapping, Sequence
from typing import Final

from api.desk.states import State
from ontology.snapshot.language_view import tell_languages_of_names, tell_languages_of_texts
from ontology.snapshot.languages import get_main_language

__all__ = ["TextLanguages", "find_text_languages"]

#: The language of all that is no record's.
_OURS: Final = "en"
_WORD: Final = re.compile(r"\w+")


class TextLanguages:
    """Texts by the language they are in.

    Parameters
    ----------
    texts : Mapping of whole text to tag
    names : Mapping of name to tag
        What is looked for within sentences. A single word that begins small is not: it may be one of ours.
    """

    def __init__(self, texts: Mapping[str, str], names: Mapping[str, str]) -> None:
        self._texts, self._names = texts, names
        self._closed = {text.replace(" ", ""): tag for text, tag in texts.items()}
        by_word: defaultdict[str, list[str]] = defaultdict(list)
        for name, tag in names.items():
            first = _WORD.match(name)
            if first is not None and tag != _OURS and not (name == first[0] and name[0].islower()):
                by_word[first[0]].append(name)
        self._by_word = {word: sorted(own, key=lambda name: (-len(name), name)) for word, own in by_word.items()}

    def tell(self, text: str) -> str | None:
        """Return the language of a whole text; None where it is nothing that a record says."""
        return self._texts.get(text)

    def tell_lines(self, lines: Sequence[str]) -> str | None:
        """Return the language of a text that stands in lines, its words perhaps broken; None as `tell`."""
        return self._closed.get("".join(lines).replace(" ", ""))

    def split(self, sentence: str) -> list[tuple[str, str | None]]:
        """Return a sentence in pieces: names in another language than ours, each with its own, and what stands between.

        The longest name wins. O(words of the sentence).

        Examples
        --------
        >>> TextLanguages({}, {"Rohr": "de", "Rohr legen": "de"}).split("2 need Rohr legen, 1 needs Rohre")
        [('2 need ', None), ('Rohr legen', 'de'), (', 1 needs Rohre', None)]
        """
        pieces: list[tuple[str, str | None]] = []
        end = 0
        for word in _WORD.finditer(sentence):
            start = word.start()
            for name in self._by_word.get(word[0], ()) if start >= end else ():
                after = start + len(name)
                if sentence.startswith(name, start) and not sentence[after : after + 1].isalnum():
                    pieces += [(sentence[end:start], None), (name, self._names[name])]
                    end = after
                    break
        return [piece for piece in (*pieces, (sentence[end:], None)) if piece[0]]


def find_text_languages(state: State) -> TextLanguages | None:
    """Return in which language the texts of a state are; None where all are in ours. O(records), once for a view."""
    whole = state.get_whole()
    main = get_main_language(whole)
    is_ours = main.partition("-")[0] == _OURS
    language = main if state.reading is None else state.reading.language
    if language == main and is_ours:
        return None
    # what judges texts tells them as they are written, whatever is read
    written = None if is_ours or state.origin is None else state.origin.get_whole()

    def build() -> TextLanguages:
        texts, names = (
            {**(tell(written, main) if written is not None else {}), **tell(whole, language)}
            for tell in (tell_languages_of_texts, tell_languages_of_names)
        )
        return TextLanguages(texts, names)

    return whole.keep(("languages of texts and names", language), build)
