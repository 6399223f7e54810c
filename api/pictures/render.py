"""The only door to the outside program dot: DOT text to SVG or PNG."""

from __future__ import annotations

import logging
import shutil
import subprocess
from typing import Final, Literal

from api.pictures import page, style
from api.pictures.svg import finish_svg
from ontology.errors import NewelError, ProgramMissingError, UnavailableError

PictureFormat = Literal["svg", "png", "dot"]
PROGRAM: Final = "dot"

_LOG: Final = logging.getLogger(__name__)
_SVG_END: Final = b"</svg>"


def is_available() -> bool:
    """Whether the program dot is installed."""
    return shutil.which(PROGRAM) is not None


def render(dot_text: str, fmt: PictureFormat, *, timeout_s: float = 20) -> bytes:
    """Return a picture's bytes; "dot" is the text itself in UTF-8 and needs no program.

    Raises
    ------
    ProgramMissingError
        dot is not installed.
    UnavailableError
        dot took longer than `timeout_s`, and was killed.
    NewelError
        dot could not read the text, or `fmt` is none of the three.
    """
    if fmt == "dot":
        return dot_text.encode()
    if fmt not in ("svg", "png"):
        raise NewelError(f"A picture is svg, png or dot, not {fmt}.", format=fmt)
    is_for_paper = page.is_for_paper(dot_text)
    if fmt == "png" and not is_for_paper:
        return _run_dot(dot_text, ("png", f"-Gdpi={style.PNG_DPI}"), timeout_s)
    # one run draws and tells the width of every text; the size of a page's drawing is known only then
    both = _run_dot(dot_text, ("svg", "-Txdot"), timeout_s)
    end = both.rindex(_SVG_END) + len(_SVG_END)
    svg, xdot = both[:end], both[end:]
    if fmt == "svg":
        finished = finish_svg(svg, xdot, dot_text)
        return page.put_svg_on_page(finished) if is_for_paper else finished
    viewport = f"-Gviewport={page.get_viewport(svg)}"
    return page.add_png_size(_run_dot(dot_text, ("png", f"-Gdpi={style.PNG_DPI}", viewport), timeout_s), style.PNG_DPI)


def _run_dot(dot_text: str, asked: tuple[str, ...], timeout_s: float) -> bytes:
    fmt, *more = asked
    command = [PROGRAM, f"-T{fmt}", *more]
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
    if done.stderr:
        # dot may leave a label out, say so, and call that a success
        _LOG.warning("dot remarked on a picture: %s", done.stderr.decode(errors="replace").strip()[:1000])
    return done.stdout
