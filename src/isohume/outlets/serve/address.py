"""Where the site listens: host and ports that are free now, or one clear line why not."""

from __future__ import annotations

import errno
import socket
import time
from dataclasses import dataclass

from isohume.foundation.quantity.errors import InputError

HIGHEST_PORT = 65535
LEAVING_S = 3.0  # the processes of a killed site need a moment to notice and to let go of their ports


@dataclass(frozen=True, slots=True)
class Address:
    """The host the processes listen on, the name browsers use for it, and the ports of pages and live streams."""

    host: str
    name: str
    port: int
    live_port: int

    @property
    def pages(self) -> str:
        """host:port of the pages, as a browser says it."""
        return f"{_bracketed(self.name)}:{self.port}"

    @property
    def live(self) -> str:
        """host:port of the live streams, as a browser says it."""
        return f"{_bracketed(self.name)}:{self.live_port}"


def find_address(host: str, port: int, name: str | None) -> Address:
    """The address for this start; port 0 takes any free one, and live takes the next one, or any free one.

    Raises: InputError where the host is not one of this computer's or the port is taken.
    """
    if not 0 <= port <= HIGHEST_PORT:
        raise InputError("port", port, f"0 (any free one) to {HIGHEST_PORT}")
    until = time.monotonic() + LEAVING_S
    while (taken := _taken(host, port)) is not None and time.monotonic() < until:
        time.sleep(0.1)
    if taken is not None:
        raise InputError("port", port, f"a port nobody else uses on {host} ({taken}); --port 0 takes any free one")
    port = port or _any_free(host)
    live = port + 1 if port < HIGHEST_PORT and _taken(host, port + 1) is None else _any_free(host, other_than=port)
    wildcard = host in ("0.0.0.0", "::")
    return Address(host, name or ("localhost" if wildcard else host), port, live)


def _taken(host: str, port: int) -> str | None:
    try:
        _bound(host, port).close()
    except PermissionError:
        return "this user may not open it"
    except OSError as error:
        if error.errno == errno.EADDRINUSE:
            return "it is in use"
        raise InputError("address", host, "an address of this computer, such as 127.0.0.1 or 0.0.0.0") from None
    return None


def _any_free(host: str, other_than: int = 0) -> int:
    while True:
        with _bound(host, 0) as found:
            port: int = found.getsockname()[1]
        if port != other_than:
            return port


def _bound(host: str, port: int) -> socket.socket:
    family, kind, protocol, _, place = socket.getaddrinfo(host, port, type=socket.SOCK_STREAM)[0]
    made = socket.socket(family, kind, protocol)
    try:
        made.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        made.bind(place)
    except BaseException:
        made.close()
        raise
    return made


def _bracketed(host: str) -> str:
    return f"[{host}]" if ":" in host else host
