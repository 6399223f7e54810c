"""The sockets of a server, looked after by a thread of their own: they listen before there is anything to answer with.

The one door to waitress.
"""

from __future__ import annotations

import threading
import time
from typing import TYPE_CHECKING, Any, Final

import waitress
from waitress import wasyncore

from api.settings import Settings
from ontology.errors import UnavailableError

if TYPE_CHECKING:
    from _typeshed.wsgi import WSGIApplication

#: Seconds after which a connection that says nothing is closed, and how many may be open.
_CHANNEL_TIMEOUT_S: Final = 30
_CONNECTIONS_MAX: Final = 1000
_LOOK_S: Final = 0.01


def _trust(proxy: str) -> dict[str, Any]:
    """Return what is believed of a proxy: from where a request came, and nothing else (OWASP ASVS 5.0.0, V4.1.3)."""
    return {"trusted_proxy": proxy, "trusted_proxy_headers": {"x-forwarded-for"}} if proxy else {}


class Listener:
    """Listens on an address and hands requests to an application.

    Raises
    ------
    UnavailableError
        The port is taken or may not be used.
    """

    def __init__(self, app: WSGIApplication, host: str, port: int, settings: Settings) -> None:
        self._sockets: dict[int, Any] = {}
        try:
            self._server = waitress.create_server(
                app,
                map=self._sockets,
                host=host,
                port=port,
                threads=settings.threads,
                ident="newel",
                clear_untrusted_proxy_headers=True,
                **_trust(settings.trusted_proxy),
                channel_timeout=_CHANNEL_TIMEOUT_S,
                connection_limit=_CONNECTIONS_MAX,
            )
        except OSError as error:
            raise UnavailableError(
                f"Cannot listen on {host} port {port}: {error.strerror}.", host=host, port=port
            ) from error
        self._loop = threading.Thread(target=self._server.run, daemon=True)
        self._loop.start()

    @property
    def port(self) -> int:
        """The port it listens on, also where it was to take a free one."""
        # a name of several addresses has a socket for each
        several = getattr(self._server, "effective_listen", None)
        return int(several[0][1] if several else self._server.effective_port)

    def stop(self, within_s: float) -> None:
        """Send what has been answered, then close every connection; `within_s` seconds at the most for each step."""
        latest = time.monotonic() + within_s
        while self._has_unsent() and time.monotonic() < latest:
            time.sleep(_LOOK_S)
        self._server.task_dispatcher.shutdown(cancel_pending=True, timeout=within_s)
        trigger = next(each for each in self._sockets.values() if hasattr(each, "pull_trigger"))
        # sockets are closed by the thread that waits on them
        trigger.pull_trigger(lambda: wasyncore.close_all(self._sockets, ignore_all=True))
        self._loop.join(within_s)

    def _has_unsent(self) -> bool:
        return any(getattr(each, "total_outbufs_len", 0) > 0 for each in list(self._sockets.values()))
