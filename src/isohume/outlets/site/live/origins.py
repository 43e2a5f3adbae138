"""Which pages may ask for a stream: the site's own, from their own address, and no other."""

from __future__ import annotations

from collections.abc import Mapping

THIS_COMPUTER = ("127.0.0.1", "localhost", "[::1]")


def own_origins(environment: Mapping[str, str]) -> frozenset[str]:
    """The origins of the site's pages, from what every process of the site is told."""
    host, _, port = environment.get("ISOHUME_ADDRESS", "127.0.0.1:8765").rpartition(":")
    names = {*THIS_COMPUTER, host, *filter(None, environment.get("ISOHUME_HOSTS", "").split(","))}
    origins = {f"http://{name}:{port}" for name in names}
    if environment.get("ISOHUME_HTTPS") == "1":
        origins = {f"https://{name}" for name in names} | {f"https://{name}:{port}" for name in names}
    return frozenset(origins)
