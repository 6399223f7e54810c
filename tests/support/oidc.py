"""A real provider of OpenID Connect on this machine: the npm package oidc-provider, run by node while it is asked."""

from __future__ import annotations

import shutil
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import requests

__all__ = ["NEEDS", "find_missing", "sign_in_there", "start_provider"]

ROOT = Path(__file__).resolve().parents[2]
#: Where `make provider` puts the package.
MODULES = Path(sys.prefix) / "node"
NEEDS = "needs node and the npm package oidc-provider, which make provider installs"


def find_missing() -> str:
    """Return why there is no provider; "" where there is one."""
    is_there = (MODULES / "node_modules" / "oidc-provider").is_dir()
    return "" if shutil.which("node") and is_there else NEEDS


@contextmanager
def start_provider(*returns_to: str) -> Iterator[str]:
    """Run a provider while the block runs; gives its issuer."""
    program = ROOT / "tests" / "support" / "node" / "provider.mjs"
    command = ["node", str(program), str(MODULES), " ".join(returns_to)]
    with subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True) as process:
        try:
            assert process.stdout is not None
            yield f"http://127.0.0.1:{int(process.stdout.readline())}"
        finally:
            process.kill()


def sign_in_there(address: str, name: str, amr: str = "pwd", browser: requests.Session | None = None) -> str:
    """Go to a provider as a browser would, sign in, and return the address it sends back to."""
    with browser or requests.Session() as session:
        answer = session.get(address, allow_redirects=False, timeout=20)
        for _ in range(8):
            if answer.status_code in (302, 303):
                to = requests.compat.urljoin(answer.url, answer.headers["Location"])
                if not to.startswith(address.partition("/auth")[0]):
                    return to
                answer = session.get(to, allow_redirects=False, timeout=20)
            else:
                assert answer.status_code == 200, answer.text
                typed = {"login": name, "amr": amr}
                answer = session.post(answer.url, data=typed, allow_redirects=False, timeout=20)
    raise AssertionError("the provider does not come back")
