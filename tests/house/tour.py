"""The README's tour: every command in it is run, and its output stands below it.

``python tests/house/tour.py`` rewrites the outputs. Commands stand in blocks of ``console``, after ``$``. The program
newel and curl run inside this process, against a store and an application of their own; a ``printf`` into a file and
pipes into other programs go through a shell.
"""

from __future__ import annotations

import os
import re
import shlex
import subprocess
import sys
import tempfile
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
README = ROOT / "README.md"
if __name__ == "__main__":
    sys.path.insert(0, str(ROOT))

from click.testing import CliRunner  # noqa: E402

from api.app import create_app  # noqa: E402
from api.terminal.program import program  # noqa: E402
from ontology.live.live_graph import LiveGraph  # noqa: E402

_BLOCK = re.compile(r"^```console\n(.*?)^```$", re.MULTILINE | re.DOTALL)
_ADDRESS = "http://127.0.0.1:8000"


class Tour:
    """A folder with the scenario and a store in it, where the commands of the README are run one after the other."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        (folder / "data").symlink_to(ROOT / "data")

    def run(self, command: str) -> str:
        """Return what a command prints, errors included."""
        call, *pipe = [part.strip() for part in _split(command)]
        words = shlex.split(call)
        if words[0] == "newel":
            output = self._run_newel(words[1:])
        elif words[0] == "curl":
            output = self._run_curl(words[-1])
        elif words[0] == "printf":
            shell = subprocess.run(call, shell=True, cwd=self.folder, capture_output=True, text=True, check=True)
            output = shell.stdout
        else:
            raise ValueError(f"the tour cannot run {command!r}")
        for step in pipe:
            output = subprocess.run(step, shell=True, input=output, capture_output=True, text=True, check=True).stdout
        return output

    def _run_newel(self, words: list[str]) -> str:
        here = Path.cwd()
        os.chdir(self.folder)
        try:
            result = CliRunner().invoke(program, words, prog_name="newel", env={"NEWEL_STORE": "", "COLUMNS": "118"})
        finally:
            os.chdir(here)
        return result.output

    def _run_curl(self, address: str) -> str:
        graph = LiveGraph.open(self.folder / "newel-store")
        try:
            client = create_app(graph).test_client()
            return client.get(address.removeprefix(_ADDRESS), base_url=_ADDRESS).get_data(as_text=True)
        finally:
            graph.close()


def _split(command: str) -> list[str]:
    """Return the parts of a pipe; a bar inside quotes is no pipe."""
    parts, quote = [""], ""
    for character in command:
        if character in "\"'":
            quote = "" if quote == character else (quote or character)
        if character == "|" and not quote:
            parts.append("")
        else:
            parts[-1] += character
    return parts


def write_outputs(text: str) -> str:
    """Return the README with every command of the tour followed by what it prints now."""
    with tempfile.TemporaryDirectory() as name:
        tour = Tour(Path(name))

        def replace(match: re.Match[str]) -> str:
            commands = [line[2:] for line in match.group(1).splitlines() if line.startswith("$ ")]
            if not commands:
                return match.group(0)
            shown = []
            for command in commands:
                output = tour.run(command).rstrip()
                lines = [line.rstrip() for line in output.splitlines()]
                shown.append("\n".join([f"$ {command}", *lines]))
            return "```console\n" + "\n".join(shown) + "\n```"

        return _BLOCK.sub(replace, text)


if __name__ == "__main__":
    README.write_text(write_outputs(README.read_text("utf-8")), "utf-8")
