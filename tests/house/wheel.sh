#!/bin/sh
# Builds the wheel, installs it alone into a fresh environment and uses it from an empty folder.
set -eu
python=$(cd "$(dirname "$1")" && pwd)/$(basename "$1")
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
"$python" -m build --quiet --wheel --outdir "$work/dist" . >/dev/null
"$python" -m venv "$work/venv"
"$work/venv/bin/python" -m pip install --quiet --no-compile "$work"/dist/*.whl
mkdir "$work/empty"
cd "$work/empty"
"$work/venv/bin/python" -c "
import api, loaders, ontology
for package in (api, loaders, ontology):
    assert '$work' in package.__file__, package.__file__
"
"$work/venv/bin/newel" --version
"$work/venv/bin/newel" load --store "$work/store" "$("$work/venv/bin/newel" demo --where)" >/dev/null
"$work/venv/bin/newel" coverage --store "$work/store" --json --on 2026-11-24 treatment >/dev/null
echo "the wheel works in a fresh environment"
