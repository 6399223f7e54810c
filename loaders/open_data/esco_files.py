"""The official ESCO CSV files, read from a folder or straight from the zip containers they are published in.

Nothing is unpacked to disk. File and column names: the CSV edition of the ESCO classification (European Commission,
esco.ec.europa.eu/en/use-esco/download).
"""

from __future__ import annotations

import csv
import io
import re
import zipfile
from collections.abc import Iterator
from contextlib import ExitStack
from dataclasses import dataclass
from operator import itemgetter
from pathlib import Path, PurePosixPath
from typing import IO, Final

from loaders.limits import MAX_CELL_CHARACTERS, list_folder, require_readable
from loaders.open_data.faults import Faults, Progress, iterate_with_progress, require_columns
from loaders.tables.archives import DAMAGE, open_archive
from ontology.errors import FileFormatError

URI: Final = "conceptUri"
LABEL: Final = "preferredLabel"
ALT_LABELS: Final = "altLabels"
DESCRIPTION: Final = "description"
CODE: Final = "code"
BROADER: Final = "broaderUri"
SKILL_TYPE: Final = "skillType"
ISCO: Final = "iscoGroup"

OCCUPATIONS: Final = "occupations"
SKILLS: Final = "skills"
SKILL_GROUPS: Final = "skillGroups"
ISCO_GROUPS: Final = "ISCOGroups"
BROADER_LINKS: Final = "broaderRelationsSkillPillar"
RELATIONS: Final = "occupationSkillRelations"
SKILL_RELATIONS: Final = "skillSkillRelations"

#: The files that are read (without language and suffix), and the columns of each that are used.
FILES: Final[dict[str, tuple[str, ...]]] = {
    SKILLS: (URI, SKILL_TYPE, LABEL, ALT_LABELS, DESCRIPTION),
    SKILL_GROUPS: (URI, LABEL, ALT_LABELS, DESCRIPTION),
    BROADER_LINKS: (URI, BROADER),
    ISCO_GROUPS: (CODE, LABEL),
    OCCUPATIONS: (URI, CODE, LABEL, ISCO, DESCRIPTION),
    RELATIONS: ("occupationUri", "relationType", "skillUri"),
    SKILL_RELATIONS: ("originalSkillUri", "relatedSkillUri"),
}

_NAME: Final = re.compile(r"([A-Za-z]+?)(?:_([a-z]{2}))?\.csv")
_VERSION: Final = re.compile(r"v(\d+(?:\.\d+)+)")
_DAMAGE: Final = (*DAMAGE, csv.Error)


@dataclass(frozen=True, slots=True)
class _Place:
    """Where one CSV file is: in a zip container (`archive`), or on disk."""

    container: Path
    member: str
    archive: zipfile.ZipFile | None

    @property
    def name(self) -> str:
        return PurePosixPath(self.member).name

    def open(self) -> IO[bytes]:
        return self.archive.open(self.member) if self.archive else (self.container / self.member).open("rb")


@dataclass(frozen=True, slots=True)
class Csv:
    """The data rows of one file, whole, and the way to the columns that are used."""

    file: str
    rows: list[list[str]]
    width: int
    positions: tuple[int, ...]

    def iterate(self, faults: Faults, progress: Progress | None = None) -> Iterator[tuple[int, tuple[str, ...]]]:
        """Yield (row as a spreadsheet shows it, used cells); a row of the wrong width becomes an error."""
        pick = itemgetter(*self.positions)
        width = self.width
        for number, row in iterate_with_progress(self.rows, self.file, progress):
            if len(row) == width:
                yield number, pick(row)
            elif row:
                reason = f"The row has {len(row)} cells where the header has {width}."
                faults.add_error(self.file, number, "", row[0], reason)


class EscoFiles:
    """The files of one ESCO release; a context manager that keeps the containers open.

    Parameters
    ----------
    path : Path
        A folder that holds the official zip containers or the CSV files out of them, or one container with all.

    Raises
    ------
    FileFormatError
        A file of `FILES` is not there (all that are missing are named), or a container is damaged.
    LimitError
        A file would unpack to too much.
    """

    def __init__(self, path: Path) -> None:
        self.path = Path(path)
        self._open = ExitStack()
        self._places: dict[str, _Place] = {}
        #: Stem -> language -> its file, of the other languages.
        self._others: dict[str, dict[str, _Place]] = {}
        self.language = ""
        self.version = ""
        try:
            self._find()
        except BaseException:
            self._open.close()
            raise

    def __enter__(self) -> EscoFiles:
        return self

    def __exit__(self, *_: object) -> None:
        self._open.close()

    def list_languages(self) -> list[str]:
        """Return the other languages that a file is in."""
        return sorted({language for places in self._others.values() for language in places})

    def has(self, stem: str, language: str) -> bool:
        """Whether there is a file in another language."""
        return language in self._others[stem]

    def read(self, stem: str, language: str = "") -> Csv:
        """Return the rows of a file of `FILES`, in the main language or another one.

        Raises
        ------
        FileFormatError
            It is damaged, not UTF-8, or its header row lacks a column.
        """
        place = self._others[stem][language] if language else self._places[stem]
        # one cell of the official files is 627,354 characters long; the csv module stops at 131,072 unless told
        previous = csv.field_size_limit(MAX_CELL_CHARACTERS)
        try:
            with place.open() as raw, io.TextIOWrapper(raw, "utf-8-sig", newline="") as text:
                rows = list(csv.reader(text, strict=True))
        except _DAMAGE as error:
            raise FileFormatError(
                f"{place.name} (in {place.container.name}) cannot be read: {error}", file=place.name
            ) from error
        finally:
            csv.field_size_limit(previous)
        header = rows.pop(0) if rows else []
        positions = require_columns(place.name, header, FILES[stem])
        return Csv(place.name, rows, len(header), tuple(positions))

    def _find(self) -> None:
        found: dict[str, dict[str, _Place]] = {stem: {} for stem in FILES}
        for place in self._iterate_places():
            match = _NAME.fullmatch(place.name)
            if match and match[1] in found:
                found[match[1]].setdefault(match[2] or "", place)
                version = _VERSION.search(str(place.container / place.member))
                self.version = self.version or (version[1] if version else "")
        languages = [set(places) - {""} for places in found.values() if set(places) - {""}]
        common = set.intersection(*languages) if languages else set()
        # English where it is there: the edition in which every label exists
        self.language = "en" if "en" in common else min(common, default="")
        for stem, places in found.items():
            chosen = places.get(self.language) or places.get("")
            if chosen is not None:
                self._places[stem] = chosen
            # a few files in English do not make it another language: it is the main one of what is loaded
            apart = {"", "en", self.language}
            self._others[stem] = {tag: place for tag, place in places.items() if tag not in apart}
        missing = [stem for stem in FILES if stem not in self._places]
        if missing:
            names = ", ".join(f"{stem}*.csv" for stem in missing)
            raise FileFormatError(
                f"{self.path} does not hold the whole ESCO classification: {names} not found.", files=missing
            )

    def _iterate_places(self) -> Iterator[_Place]:
        """Yield every CSV file, those on disk before those in containers."""
        if self.path.is_dir():
            for entry in list_folder(self.path, ".csv"):
                require_readable(entry)
                yield _Place(self.path, entry.name, None)
        for container in _get_containers(self.path):
            archive = self._open.enter_context(open_archive(container))
            for member in archive.namelist():
                if member.endswith(".csv"):
                    yield _Place(container, member, archive)


def _get_containers(path: Path) -> list[Path]:
    return list_folder(path, ".zip") if path.is_dir() else [path]


def is_esco(path: Path) -> bool:
    """Return whether a path holds ESCO files, by their official names.

    True for a folder with the CSV file of the relations or with a container of the official name, and for a zip
    container that holds the occupations or the relations. Whether it can be read is not asked.
    """
    path = Path(path)
    if path.is_dir():
        return (path / f"{RELATIONS}.csv").is_file() or any(map(_is_container, list_folder(path, ".zip")))
    return path.suffix.lower() == ".zip" and _is_container(path)


def _is_container(path: Path) -> bool:
    if not path.is_file():
        return False
    if path.name.startswith("ESCO dataset"):
        return True
    try:
        with open_archive(path) as archive:
            names = [PurePosixPath(member).name for member in archive.namelist()]
    except FileFormatError:
        return False
    stems = {match[1] for name in names if (match := _NAME.fullmatch(name))}
    return bool(stems & {RELATIONS, OCCUPATIONS}) and bool(stems - {OCCUPATIONS})
