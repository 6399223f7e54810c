"""The patches of bulk commits, in files beside the generations: N-Quads in gzip members of 4,000 quads.

`zcat` reads a file as a whole, our code one member at a time. What is about people stands in files of its own, so that
it can be erased. A store in memory keeps the same bytes.
"""

from __future__ import annotations

import gzip
import hashlib
import os
import re
import shutil
import zlib
from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import IO, Final

from ontology.errors import FileFormatError
from ontology.rdf import namespaces as ns
from ontology.rdf.namespaces import Quad

#: Of a store's folder: where the files are.
FOLDER: Final = "history"
#: Quads of one gzip member.
QUADS_PER_MEMBER: Final = 4_000
_LEVEL: Final = 1
_NAME: Final = re.compile(r"([0-9]{9,})\.(people\.)?(added|removed)\.nq\.gz")
_STEP: Final = 1 << 18
_GZIP: Final = 31
#: So many texts are looked for in a member as a whole; for more, each line is looked at.
_FEW: Final = 8


@dataclass(frozen=True, slots=True)
class PatchFile:
    """One file of a bulk commit and the SHA-256 of its bytes."""

    name: str
    sha256: str

    @property
    def is_added(self) -> bool:
        """Whether it holds what the commit added; else what it removed."""
        return self.name.endswith(".added.nq.gz")


class PatchFiles:
    """The files of one store; `folder` is None for a store in memory."""

    def __init__(self, folder: Path | None) -> None:
        self._folder = folder
        self._kept: dict[str, bytes] = {}

    def begin(self, revision: int) -> PatchWriter:
        """Return what writes the files of a commit."""
        return PatchWriter(self._folder, revision, self._kept)

    def remove_above(self, revision: int) -> None:
        """Remove the files of commits that never came to be."""
        for name in list_patch_files(self._folder) if self._folder is not None else ():
            if _get_revision(name) > revision and self._folder is not None:
                (self._folder / name).unlink(missing_ok=True)

    def copy_to(self, folder: Path, revision: int | None = None) -> None:
        """Copy the files, those of the commits up to a revision, into a folder that is made for them."""
        folder.mkdir(parents=True, exist_ok=True)
        for name in list_patch_files(self._folder):
            if self._folder is not None and (revision is None or _get_revision(name) <= revision):
                shutil.copyfile(self._folder / name, folder / name)
                with (folder / name).open("rb") as handle:
                    os.fsync(handle.fileno())
        sync_folder(folder)

    def take(self, name: str, content: bytes, change: Callable[[bytes], bytes]) -> str:
        """Keep a file of another store, each member of it changed; return its new SHA-256. `sync` comes after all."""
        members = list(iterate_members(content))
        changed = [change(member) for member in members]
        if changed != members:
            content = b"".join(gzip.compress(member, _LEVEL, mtime=0) for member in changed if member)
        if self._folder is None:
            self._kept[name] = content
        else:
            self._folder.mkdir(parents=True, exist_ok=True)
            with (self._folder / name).open("wb") as handle:
                handle.write(content)
                handle.flush()
                os.fsync(handle.fileno())
        return hashlib.sha256(content).hexdigest()

    def sync(self) -> None:
        """Bring the names of the files safely to the disk; a folder without any is made too."""
        if self._folder is not None:
            self._folder.mkdir(parents=True, exist_ok=True)
            sync_folder(self._folder)

    def read(self, file: PatchFile) -> bytes:
        """Return the bytes of a file.

        Raises
        ------
        FileFormatError
            It is missing, or not as it was written.
        """
        try:
            content = self._kept[file.name] if self._folder is None else (self._folder / file.name).read_bytes()
        except (KeyError, OSError) as error:
            raise _damaged(file, "is missing or cannot be read") from error
        if hashlib.sha256(content).hexdigest() != file.sha256:
            raise _damaged(file, "is not as it was written")
        return content

    def iterate_quads(self, file: PatchFile, mentioning: Sequence[str] = ()) -> Iterator[Quad]:
        """Yield the quads of a file in the order they were written; with `mentioning`, those whose text holds one.

        Members without any of these texts are not taken apart: O(bytes) to find the quads of one record.
        """
        wanted = [text.encode() for text in mentioning]
        for member in iterate_members(self.read(file)):
            if wanted and not any(text in member for text in wanted):
                continue
            for line in member.decode().split("\n"):
                if line and (not mentioning or any(text in line for text in mentioning)):
                    yield parse_line(line)

    def iterate_about(self, file: PatchFile, subjects: set[str]) -> Iterator[Quad]:
        """Yield the quads of a file whose subject is among some. O(bytes)."""
        wanted = [subject.encode() for subject in subjects] if len(subjects) <= _FEW else []
        for member in iterate_members(self.read(file)):
            if wanted and not any(text in member for text in wanted):
                continue
            for line in member.decode().split("\n"):
                if line.partition(" ")[0] in subjects:
                    yield parse_line(line)


class PatchWriter:
    """Writes the files of one commit, each begun with its first quad."""

    def __init__(self, folder: Path | None, revision: int, kept: dict[str, bytes]) -> None:
        self._folder = folder
        self._revision = revision
        self._kept = kept
        self._waiting: defaultdict[str, list[str]] = defaultdict(list)
        self._parts: defaultdict[str, list[bytes]] = defaultdict(list)
        self._handles: dict[str, IO[bytes]] = {}
        self._sums: defaultdict[str, hashlib._Hash] = defaultdict(hashlib.sha256)

    def pass_on(self, blocks: Iterable[Sequence[Quad]]) -> Iterator[Sequence[Quad]]:
        """Yield blocks of quads that are added, each after it was taken down."""
        for block in blocks:
            self.take(block, is_added=True)
            yield block

    def take(self, quads: Sequence[Quad], *, is_added: bool) -> None:
        """Take down quads that are added or removed."""
        kind = "added" if is_added else "removed"
        lines: defaultdict[str, list[str]] = defaultdict(list)
        for g, s, p, o in quads:
            lines["people." if g == ns.GRAPH_PEOPLE else ""].append(f"{s} {p} {o} <{g}> .\n")
        for part, found in lines.items():
            name = f"{self._revision:09}.{part}{kind}.nq.gz"
            waiting = self._waiting[name]
            waiting += found
            whole = len(waiting) - len(waiting) % QUADS_PER_MEMBER
            for start in range(0, whole, QUADS_PER_MEMBER):
                self._write(name, waiting[start : start + QUADS_PER_MEMBER])
            del waiting[:whole]

    def finish(self) -> tuple[PatchFile, ...]:
        """Write what waits, bring all files safely to the disk, and return them."""
        for name, waiting in self._waiting.items():
            if waiting:
                self._write(name, waiting)
        for handle in self._handles.values():
            handle.flush()
            os.fsync(handle.fileno())
            handle.close()
        if self._folder is not None and self._handles:
            sync_folder(self._folder)
            sync_folder(self._folder.parent)
        self._kept.update({name: b"".join(parts) for name, parts in self._parts.items()})
        return tuple(PatchFile(name, found.hexdigest()) for name, found in sorted(self._sums.items()))

    def abandon(self) -> None:
        """Remove what was written of a commit that failed."""
        for name in self._parts:
            self._kept.pop(name, None)
        for name, handle in self._handles.items():
            handle.close()
            if self._folder is not None:
                (self._folder / name).unlink(missing_ok=True)

    def _write(self, name: str, lines: Sequence[str]) -> None:
        member = gzip.compress("".join(lines).encode(), _LEVEL, mtime=0)
        self._sums[name].update(member)
        if self._folder is None:
            self._parts[name].append(member)
            return
        if name not in self._handles:
            self._folder.mkdir(exist_ok=True)  # with the first of them
            self._handles[name] = (self._folder / name).open("wb")
        self._handles[name].write(member)


def list_patch_files(folder: Path | None) -> list[str]:
    """Return the names of the files of a folder; none where it is not there."""
    if folder is None or not folder.is_dir():
        return []
    return sorted(path.name for path in folder.iterdir() if _NAME.fullmatch(path.name))


def parse_patch_file(name: str) -> tuple[int, str, bool] | None:
    """Return revision, what it is about ("people." or ""), and whether it was added, of the name of a file."""
    found = _NAME.fullmatch(name)
    return (int(found[1]), found[2] or "", found[3] == "added") if found else None


def iterate_members(content: bytes) -> Iterator[bytes]:
    """Yield the members of a gzip file, one in memory at a time."""
    position = 0
    while position < len(content):
        reader, parts = zlib.decompressobj(wbits=_GZIP), []
        while not reader.eof:
            piece = content[position : position + _STEP]
            parts.append(reader.decompress(piece))
            position += len(piece)
        position -= len(reader.unused_data)
        yield b"".join(parts)


def sync_folder(folder: Path) -> None:
    """Bring the names in a folder safely to the disk, where the system has a way to."""
    if hasattr(os, "O_DIRECTORY"):
        descriptor = os.open(folder, os.O_RDONLY | os.O_DIRECTORY)
        try:
            os.fsync(descriptor)
        finally:
            os.close(descriptor)


def parse_line(line: str) -> Quad:
    """Return the quad of a line as `PatchWriter` writes it: only its object may hold blanks."""
    subject, predicate, rest = line.split(" ", 2)
    term, graph, _ = rest.rsplit(" ", 2)
    return (graph[1:-1], subject, predicate, term)


def _get_revision(name: str) -> int:
    return int(name.partition(".")[0])


def _damaged(file: PatchFile, reason: str) -> FileFormatError:
    return FileFormatError(f"The store's history is damaged: {file.name} {reason}; restore a backup.")
