"""A page to browse the OpenAPI document in: the one door to the packaged viewer (Swagger UI, Apache License 2.0).

The viewer's files stay in the installed package flask-swagger-ui and are served from there under our own address, so
the page asks nothing of any other host. Where the package is missing, the page says so.
"""

from __future__ import annotations

from importlib.util import find_spec
from pathlib import Path
from typing import Final

from flask import Blueprint, Response, make_response, render_template, send_from_directory
from werkzeug.exceptions import NotFound

#: The package that ships the viewer, and the files of it that the page asks for.
PACKAGE: Final = "flask_swagger_ui"
SCRIPT: Final = "swagger-ui-bundle.js"
STYLE: Final = "swagger-ui.css"
#: The viewer's style sheet holds its small pictures in itself (data:); everything else is from here.
_POLICY: Final = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; connect-src 'self'; "
    "base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
)


def build_browse_blueprint() -> Blueprint:
    """Return the blueprint of the page and the viewer's files."""
    blueprint = Blueprint("browse", __name__, url_prefix="/api/browse")
    blueprint.add_url_rule("/", "page", show_page)
    blueprint.add_url_rule("/files/<name>", "file", show_file)
    return blueprint


def find_viewer() -> Path | None:
    """Return the folder of the viewer's files; None where the package is missing."""
    spec = find_spec(PACKAGE)
    for place in spec.submodule_search_locations or () if spec is not None else ():
        folder = Path(place) / "dist"
        if all((folder / name).is_file() for name in (SCRIPT, STYLE)):
            return folder
    return None


def show_page() -> Response:
    """Show the page that loads the viewer."""
    page = render_template("browse.html", has_viewer=find_viewer() is not None, script=SCRIPT, style=STYLE)
    response = make_response(page)
    response.headers["Content-Security-Policy"] = _POLICY
    return response


def show_file(name: str) -> Response:
    """Show one of the viewer's files."""
    folder = find_viewer()
    if folder is None or name not in (SCRIPT, STYLE):
        raise NotFound
    return send_from_directory(folder, name)
