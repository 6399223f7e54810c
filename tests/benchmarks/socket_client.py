"""A caller that costs little: HTTP/1.1 on one kept connection, reading no more than the length of the answer."""

from __future__ import annotations

import re
import socket
import time
from collections.abc import Iterator

_LENGTH = re.compile(rb"\r\nContent-Length: *(\d+)", re.IGNORECASE)


class Caller:
    """One connection to a server on the loopback address."""

    def __init__(self, port: int) -> None:
        self._port = port
        self._connect()

    def _connect(self) -> None:
        self._socket = socket.create_connection(("127.0.0.1", self._port), timeout=120)
        self._socket.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)

    def ask(self, address: str, headers: str = "") -> tuple[int, int]:
        """Ask for an address, with header lines; returns the status and the size of the body in bytes."""
        self._socket.sendall(f"GET {address} HTTP/1.1\r\nHost: 127.0.0.1\r\n{headers}\r\n".encode())
        data = b""
        while (end := data.find(b"\r\n\r\n")) < 0:
            data += self._receive()
        found = _LENGTH.search(data, 0, end)
        if data[9:12] == b"304":
            # without a body waitress tells no length, and closes the connection
            self._socket.close()
            self._connect()
            return 304, 0
        if found is None:
            raise ValueError("the answer does not tell its length")
        size, held = int(found[1]), len(data) - end - 4
        while held < size:
            held += len(self._receive())
        return int(data[9:12]), size

    def close(self) -> None:
        """Close the connection."""
        self._socket.close()

    def _receive(self) -> bytes:
        data = self._socket.recv(1 << 16)
        if not data:
            raise ConnectionError("the server closed the connection")
        return data


def ask_once(port: int, address: str, headers: str = "") -> tuple[int, int]:
    """Return the status and the size of one answer."""
    caller = Caller(port)
    try:
        return caller.ask(address, headers)
    finally:
        caller.close()


def ask_until(port: int, addresses: Iterator[str], end: float, *, headers: str = "", status: int = 200) -> int:
    """Ask for one address after the other until a moment of the monotonic clock; returns the number of answers.

    Raises
    ------
    ValueError
        An answer has another status.
    """
    caller = Caller(port)
    count = 0
    try:
        while time.monotonic() < end:
            address = next(addresses)
            answered, _ = caller.ask(address, headers)
            if answered != status:
                raise ValueError(f"{address} answers with status {answered}")
            count += 1
    finally:
        caller.close()
    return count
