"""Connections of browsers: each has a time for what it owes, and whoever only waits makes room for others.

A head that never ends, a body that trickles, an answer that nobody takes: none of them holds a place for longer than
its deadline, and where an address has all its places, the one that has kept it waiting longest is closed.
"""

import asyncio
import ipaddress
from typing import Any, cast

from uvicorn.protocols.http.h11_impl import H11Protocol

HEAD_WITHIN = 10.0  # s from the connection to the end of its first head
ANSWER_WITHIN = 120.0  # s from a head until its answer is taken
NEXT_WITHIN = 25.0  # s from an answer to the end of the next head
MOST_OF_ONE = 48  # connections of one address: a whole class may share one
MOST = 200


class Connection(H11Protocol):
    """One connection, over HTTP/1.1 as uvicorn speaks it."""

    _deadline: asyncio.TimerHandle | None = None
    _asked: object = None
    network = ""

    def connection_made(self, transport: asyncio.Transport) -> None:  # type: ignore[override]
        """Somebody has connected."""
        super().connection_made(transport)
        self.network = network_of(self.client[0] if self.client else "")
        self._within(HEAD_WITHIN)
        self._make_room()

    def data_received(self, data: bytes) -> None:
        """Something has arrived: a head that is whole is to be answered in time."""
        super().data_received(data)
        if self.cycle is not self._asked:
            self._asked = self.cycle
            self._within(ANSWER_WITHIN)

    def on_response_complete(self) -> None:
        """The answer is on its way."""
        super().on_response_complete()
        self._within(NEXT_WITHIN if self.waits else ANSWER_WITHIN)

    def connection_lost(self, exc: Exception | None) -> None:
        """It has ended."""
        if self._deadline is not None:
            self._deadline.cancel()
        super().connection_lost(exc)

    @property
    def waits(self) -> bool:
        """Whether it is the browser's turn: no request is whole that has no answer yet."""
        cycle = cast(Any, self.cycle)
        return cycle is None or cycle.response_complete or cycle.more_body

    def _within(self, seconds: float) -> None:
        if self._deadline is not None:
            self._deadline.cancel()
        self._deadline = self.loop.call_later(seconds, self.transport.abort)

    def _make_room(self) -> None:
        """Close who has waited longest, of this address or, where all places are taken, of the one with most."""
        everybody = [
            each for each in self.connections if isinstance(each, Connection) and not each.transport.is_closing()
        ]
        own = [each for each in everybody if each.network == self.network]
        if len(own) > MOST_OF_ONE:
            self._close_one(own)
        elif len(everybody) > MOST:
            networks = [each.network for each in everybody]
            most = max(networks, key=networks.count)
            self._close_one([each for each in everybody if each.network == most])

    def _close_one(self, among: "list[Connection]") -> None:
        waiting = [each for each in among if each.waits and each is not self and each._deadline is not None]
        first = min(waiting, key=lambda each: each._due, default=self)
        first.transport.abort()

    @property
    def _due(self) -> float:
        assert self._deadline is not None
        return self._deadline.when()


def network_of(host: str) -> str:
    """Whom an address belongs to, as far as it shows: itself or, for IPv6, its network of 64 bits.

    >>> network_of("192.0.2.7"), network_of("2001:db8::1:2"), network_of("::ffff:192.0.2.7")
    ('192.0.2.7', '2001:db8::/64', '192.0.2.7')
    """
    try:
        address = ipaddress.ip_address(host.partition("%")[0])
    except ValueError:
        return host
    if isinstance(address, ipaddress.IPv4Address):
        return str(address)
    if address.ipv4_mapped is not None:
        return str(address.ipv4_mapped)
    return str(ipaddress.ip_network((address, 64), strict=False))
