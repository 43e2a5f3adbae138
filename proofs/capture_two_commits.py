"""A broken agent, to prove the proof: how far files were read is committed before their entries, not with them."""

from __future__ import annotations

import sys
import time
from collections.abc import Mapping, Sequence
from typing import Any

from isohume.outlets.capture.entry import Entry
from isohume.outlets.capture.spool import Spool
from isohume.outlets.cli.main import run

BETWEEN_S = 0.05
sound = Spool.commit


def _broken(
    self: Spool,
    entries: Sequence[Entry],
    readers: Mapping[str, dict[str, Any]],
    files: Mapping[tuple[str, str], dict[str, Any] | None],
    said: tuple[str, Mapping[str, str]] = ("", {}),
) -> None:
    if files:
        unwritten = self._unwritten
        sound(self, [], {}, files)
        self._unwritten = unwritten
        time.sleep(BETWEEN_S)
    sound(self, entries, readers, {}, said)


if __name__ == "__main__":
    Spool.commit = _broken  # type: ignore[method-assign]
    sys.argv[0] = "isohume"
    run()
