"""An application served by waitress on a loopback port, in a thread of this process."""

from __future__ import annotations

import socket
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

import waitress
from waitress import wasyncore


@contextmanager
def serve(app: Any, threads: int) -> Iterator[int]:
    """Serve a WSGI application on 127.0.0.1 while the block runs; yields the port."""
    sockets: dict[int, Any] = {}
    server = waitress.create_server(app, map=sockets, host="127.0.0.1", port=0, threads=threads, ident="test")
    loop = threading.Thread(target=server.run, daemon=True)
    loop.start()
    try:
        yield int(server.effective_port)
    finally:
        server.task_dispatcher.shutdown(cancel_pending=True, timeout=10)
        # sockets are closed by the thread that waits on them
        server.trigger.pull_trigger(lambda: wasyncore.close_all(sockets, ignore_all=True))
        loop.join(10)
        assert not loop.is_alive()


def request_raw(port: int, text: bytes) -> bytes:
    """Return all that the server answers to these bytes until it closes the connection."""
    with socket.create_connection(("127.0.0.1", port), timeout=10) as connection:
        connection.sendall(text)
        connection.shutdown(socket.SHUT_WR)
        return b"".join(iter(lambda: connection.recv(1 << 16), b""))
