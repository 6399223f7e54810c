"""Why something differs between two states: what became meanwhile of the records that touch it, or time alone. Pure."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Annotated, Final

from ontology.model.columns import Key

__all__ = ["TIME", "UNTOLD", "Reasons", "Tell", "Touched", "Why"]

#: Said where no record was changed: something lapsed, or a validity began.
TIME: Final = "time"
#: Said of records whose history who asks may not read.
UNTOLD: Final = "a change of a record that you may not see"

#: A member of an answer.
Why = Annotated[
    tuple[str, ...], "What was changed since then that touches it, in words, newest first; time where nothing was."
]
Touched = frozenset[tuple[str, Key]]
Tell = Callable[[Touched], tuple[str, ...]]


@dataclass(frozen=True, slots=True)
class Reasons:
    """What tells the history between two states: (table, key) of records -> what became of each in words.

    Each is told with what sorts it, the newest first. What may not be read is left out.
    """

    read_rows: Callable[[Iterable[tuple[str, Key]]], Mapping[tuple[str, Key], Sequence[tuple[int, str]]]]

    def read(self, asked: Iterable[Touched]) -> Tell:
        """Return what tells why something differs, by the records that touch it; the history is read once for all."""
        wanted = sorted(frozenset[tuple[str, Key]]().union(*asked), key=repr)
        rows = self.read_rows(wanted) if wanted else {}

        def tell(touched: Touched) -> tuple[str, ...]:
            if not touched:
                return (TIME,)
            found = {row for record in touched for row in rows.get(record, ())}
            return tuple(dict.fromkeys(text for _, text in sorted(found, key=_get_order))) or (UNTOLD,)

        return tell


def _get_order(row: tuple[int, str]) -> tuple[int, str]:
    return -row[0], row[1]
