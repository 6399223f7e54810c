"""The only caller of the outside program dot: DOT text to SVG or PNG. Imports page, style, drawing, text and errors.

The SVG gets a text alternative (W3C "SVG Accessibility API Mappings": role, title, desc) from the comment lines
that every picture begins with.
"""

from __future__ import annotations

import hashlib
import re
import shutil
import subprocess
import xml.etree.ElementTree as ET
from typing import Final, Literal, NamedTuple

from api.diagrams import page, style
from api.diagrams.drawing import PLACED
from api.diagrams.text import get_comments
from ontology import namespaces as ns
from ontology.errors import NewelError, ProgramMissingError, UnavailableError

PictureFormat = Literal["svg", "png", "dot"]
PROGRAM: Final = "dot"

_SVG: Final = ns.SVG
_XLINK: Final = ns.XLINK
_HEADER: Final = re.compile(r"(title|description): (.*)$")


class TextAlternative(NamedTuple):
    """What a picture says, for readers who do not see it."""

    title: str
    description: str


def get_text_alternative(dot_text: str) -> TextAlternative:
    """Return title and description of a picture from its first comment lines.

    Examples
    --------
    >>> get_text_alternative("// title: A\\n// description: B\\ndigraph { a }")
    TextAlternative(title='A', description='B')
    >>> get_text_alternative("digraph { a }").title
    'Diagram'
    """
    found: dict[str, list[str]] = {}
    for comment in get_comments(dot_text):
        header = _HEADER.match(comment)
        if header:
            found.setdefault(header[1], []).append(header[2])
    return TextAlternative(" ".join(found.get("title", ["Diagram"])), " ".join(found.get("description", [])))


def _is_placed(dot_text: str) -> bool:
    return PLACED in get_comments(dot_text)


def is_available() -> bool:
    """Whether the program dot is installed."""
    return shutil.which(PROGRAM) is not None


def render(dot_text: str, fmt: PictureFormat, *, timeout_s: float = 20) -> bytes:
    """Return a picture's bytes.

    Parameters
    ----------
    dot_text : str
        The picture, as `pictures` draws it.
    fmt : {"svg", "png", "dot"}
        "dot" is the text itself in UTF-8 and needs no program.
    timeout_s : float
        Seconds after which dot is killed.

    Raises
    ------
    ProgramMissingError
        dot is not installed.
    UnavailableError
        dot took longer than `timeout_s`.
    NewelError
        dot could not read the text, or `fmt` is none of the three.
    """
    if fmt == "dot":
        return dot_text.encode()
    if fmt not in ("svg", "png"):
        raise NewelError(f"A picture is svg, png or dot, not {fmt}.", format=fmt)
    name = page.get_page_name(dot_text)
    if not name:
        drawn = _run_dot(dot_text, fmt, timeout_s)
        return _describe(drawn, dot_text) if fmt == "svg" else drawn
    # the size is known only once it is drawn
    drawn = _run_dot(dot_text, "svg", timeout_s)
    if fmt == "svg":
        return _describe(page.put_svg_on_page(drawn, name), dot_text)
    drawn = _run_dot(dot_text, fmt, timeout_s, f"-Gviewport={page.get_viewport(drawn, name)}")
    return page.add_png_size(drawn, style.PNG_DPI)


def _run_dot(dot_text: str, fmt: str, timeout_s: float, *more: str) -> bytes:
    command = [PROGRAM, f"-T{fmt}", *more]
    if _is_placed(dot_text):
        # the text holds every position: draw, do not arrange
        command += ["-Kneato", "-n2"]
    if fmt == "png":
        command.append(f"-Gdpi={style.PNG_DPI}")
    try:
        done = subprocess.run(command, input=dot_text.encode(), capture_output=True, timeout=timeout_s, check=False)
    except (FileNotFoundError, PermissionError) as error:
        raise ProgramMissingError(
            "The Graphviz program dot, which draws pictures, is not installed or not on the path. "
            "Install Graphviz, or ask for the DOT text instead.",
            program=PROGRAM,
        ) from error
    except subprocess.TimeoutExpired as error:
        raise UnavailableError(
            f"The picture was not drawn within {timeout_s:g} s. Ask for a smaller one, or for the DOT text.",
            program=PROGRAM,
            timeout_s=timeout_s,
        ) from error
    if done.returncode or not done.stdout:
        reason = done.stderr.decode(errors="replace").strip()
        raise NewelError("The program dot could not draw this picture.", program=PROGRAM, reason=reason)
    return done.stdout


def _describe(svg: bytes, dot_text: str) -> bytes:
    ET.register_namespace("", _SVG)
    ET.register_namespace("xlink", _XLINK)
    root = ET.fromstring(svg)
    for group in root.iter(f"{{{_SVG}}}g"):
        _set_group_title(group)
    alternative = get_text_alternative(dot_text)
    # several pictures may stand in one page: ids must differ
    mark = hashlib.sha256(dot_text.encode()).hexdigest()[:10]
    labels = []
    for position, (tag, text) in enumerate((("title", alternative.title), ("desc", alternative.description))):
        if not text:
            continue
        element = ET.Element(f"{{{_SVG}}}{tag}", {"id": f"{tag}-{mark}"})
        element.text = text
        element.tail = "\n"
        root.insert(position, element)
        labels.append(f"{tag}-{mark}")
    root.set("role", "img")
    root.set("aria-labelledby", " ".join(labels))
    described: bytes = ET.tostring(root, encoding="utf-8", xml_declaration=True)
    return described


def _set_group_title(group: ET.Element) -> None:
    """Put the tooltip where browsers look for it: dot writes a technical name there."""
    title = group.find(f"{{{_SVG}}}title")
    if title is None:
        return
    anchor = group.find(f".//{{{_SVG}}}a")
    words = anchor.get(f"{{{_XLINK}}}title", "") if anchor is not None else ""
    if words:
        title.text = words
    else:
        group.remove(title)
