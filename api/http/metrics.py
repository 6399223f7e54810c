"""What Prometheus asks: requests, how long they took, what computes and waits. The one door to prometheus-client.

Never an id or an account: a label is the template of an address, a method, a status.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from prometheus_client import CollectorRegistry, Counter, Gauge, Histogram, ProcessCollector, start_http_server

from api.http.front import Seen
from ontology.errors import UnavailableError

if TYPE_CHECKING:
    from api.desk.desk import Desk

#: Metrics are told on this machine only.
LOOPBACK: Final = "127.0.0.1"
_BUCKETS: Final = (0.001, 0.0025, 0.005, 0.01, 0.025, 0.05, 0.1, 0.25, 0.5, 1.0, 2.5, 5.0, 10.0, 30.0, 60.0)


class Metrics:
    """The numbers of one server, in a registry of their own."""

    def __init__(self) -> None:
        self.registry = CollectorRegistry()
        ProcessCollector(registry=self.registry)
        self._requests = Counter(
            "newel_requests", "Requests answered.", ("method", "route", "status"), registry=self.registry
        )
        self._seconds = Histogram(
            "newel_request_seconds",
            "Time from a request's arrival to the end of its answer.",
            ("method", "route"),
            buckets=_BUCKETS,
            registry=self.registry,
        )

    def count(self, seen: Seen) -> None:
        """Count a request that was answered."""
        self._requests.labels(seen.method, seen.route, str(seen.status)).inc()
        self._seconds.labels(seen.method, seen.route).observe(seen.seconds)

    def watch(self, desk: Desk) -> None:
        """Tell from now on how many slow answers compute and wait, and the store's revision, whenever one asks."""
        for name, about, read in (
            ("newel_slow_computing", "Slow answers being computed.", lambda: desk.gate.computing),
            ("newel_slow_waiting", "Slow answers waiting for their turn.", lambda: desk.gate.waiting),
            ("newel_revision", "Revision of the store.", lambda: desk.graph.get_snapshot().revision),
        ):
            Gauge(name, about, registry=self.registry).set_function(read)

    def serve(self, port: int) -> int:
        """Answer at /metrics of a port of this machine, and return the port; 0 takes a free one.

        Raises
        ------
        UnavailableError
            The port is taken or may not be used.
        """
        try:
            server, _ = start_http_server(port, LOOPBACK, self.registry)
        except OSError as error:
            raise UnavailableError(f"Cannot tell metrics on port {port}: {error.strerror}.", port=port) from error
        return int(server.server_port)
