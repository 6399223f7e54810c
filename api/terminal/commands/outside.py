"""List the frameworks of others that stand beside the own one, or let one go.

`newel load PATH --outside ID` brings one in, or replaces it; `newel map ID` proposes what may be mapped to it, `newel
compare outside:ID now` tells how it differs.
"""

from __future__ import annotations

from pathlib import Path

import click

from api.desk.names import count
from api.desk.states import format_time
from api.json_text import print_json
from api.terminal.options import json_option, store_option
from ontology.errors import NotFoundError
from ontology.live.live_graph import LiveGraph
from ontology.live.outside import OutsideFramework, OutsideFrameworks
from ontology.store.folder import StoreFolder


@click.command("outside", help=__doc__)
@click.option("--remove", metavar="ID", help="Let this one go; what is mapped to it stays mapped.")
@json_option
@store_option
def run(remove: str | None, as_json: bool, store: Path) -> None:
    """Print them, also those of a store that is being served: each has files of its own."""
    if not StoreFolder(store).exists():
        raise NotFoundError(f"There is no store in {store}; make one with: newel load", path=str(store))
    frameworks = OutsideFrameworks(store, LiveGraph)
    if remove is not None:
        frameworks.remove(remove)
        click.echo(f"{remove} is gone.")
        return
    told = [frameworks.get(one) for one in frameworks.list_ids()]
    if as_json:
        click.echo(print_json([_build(one) for one in told]))
        return
    for one in told:
        held = ", ".join(f"{n:,} {name.replace('_', ' ')}" for name, n in one.counts.items())
        click.echo(
            f"{one.id}: {one.label}; {held or 'nothing'}; loaded {one.loaded:%Y-%m-%d}" if one.loaded else one.id
        )
    click.echo(f"{count(len(told), 'framework')} of others beside {store}.")


def _build(one: OutsideFramework) -> dict[str, object]:
    return {
        "id": one.id,
        "label": one.label,
        "revision": one.revision,
        "loaded": format_time(one.loaded),
        "counts": dict(one.counts),
    }
