"""What the agent's tests share: a rule of the invented instrument, clocks that tests turn, the stand-in site."""

from __future__ import annotations

import threading
import tomllib
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest
from proofs.capture_site import SiteServer

from isohume.outlets.capture.clock import Moment
from isohume.outlets.capture.instrument.program import demo_rule
from isohume.outlets.capture.rule import InstrumentRule
from isohume.outlets.capture.rule_file import rule_of

TOKEN = "a-token-of-the-tests-0123"


class Hands:
    """A clock that tests turn: `pass_` lets time go by, `set_wall` is what people do to a clock."""

    def __init__(self) -> None:
        self.wall_ms, self.steady, self.boot = 1_790_000_000_000, 1000.0, "first boot"

    def now(self) -> Moment:
        """This instant."""
        return Moment(self.wall_ms, self.steady, self.boot)

    def pass_(self, seconds: float) -> Moment:
        """Both clocks go on."""
        self.wall_ms += round(seconds * 1000)
        self.steady += seconds
        return self.now()

    def set_wall(self, seconds: float) -> Moment:
        """The wall's clock is set."""
        self.wall_ms += round(seconds * 1000)
        return self.now()


@pytest.fixture
def clock() -> Hands:
    """A clock that tests turn."""
    return Hands()


@pytest.fixture
def demo() -> InstrumentRule:
    """The rule of the invented instrument."""
    return rule_of(tomllib.loads(demo_rule("/dev/null", "OW-1"))).instruments[0]


@pytest.fixture
def token_file(tmp_path: Path) -> Path:
    """The token of the stand-in site."""
    path = tmp_path / "token"
    path.write_text(f"{TOKEN}\n", encoding="ascii")
    path.chmod(0o600)
    return path


@contextmanager
def served(
    database: Path, port: int = 0, refuse: Callable[[dict[str, Any]], Any] = lambda entry: None
) -> Iterator[Any]:
    """The stand-in site while the block runs."""
    server = SiteServer(database, port, TOKEN, refuse)
    thread = threading.Thread(target=server.serve_forever, kwargs={"poll_interval": 0.02})
    thread.start()
    try:
        yield server
    finally:
        server.shutdown()
        server.server_close()
        thread.join()


@pytest.fixture
def site() -> Any:
    """`site(database, port, refuse)`: the stand-in site while a block runs."""
    return served
