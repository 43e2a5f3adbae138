"""All runs of each plant that is watched: read once, computed once, put into bytes once for everybody who looks."""

from __future__ import annotations

import json
import sqlite3
import time
from datetime import UTC, datetime
from typing import Any

from isohume.outlets.site.captures.early_rule import early_rules_of, early_sql
from isohume.outlets.site.live.run_sql import RunRow, runs_of, states_of
from isohume.outlets.site.live.run_state import RunState, now_in_iso

MOST_ASKED = 400  # parameters of one question


class RunBoard:
    """The runs of one plant."""

    def __init__(self, site: int) -> None:
        self.site = site
        self._runs: dict[int, RunState] = {}
        self._states: list[dict[str, Any]] = []
        self._told_states: list[dict[str, Any]] = []
        self._told_pks: list[int] = []
        self._asked_for: dict[int, int | None] = {}

    def read(self, connection: sqlite3.Connection) -> None:
        """What the database holds now."""
        now = datetime.now(UTC)
        rows = runs_of(connection, self.site, now)
        known, self._runs = self._runs, {}
        for row in rows:
            state = self._runs[row.pk] = known.get(row.pk) or RunState(row)
            state.follow(row, connection)
        self._read_rules(connection, rows)
        self._states = states_of(connection, self.site, now)

    def compute(self, seconds: float) -> bool:
        """Forecasts and diagnoses up to the last readings, runs that go on first.

        seconds: how long it may take; returns whether all is done, else the rest is for the next time.
        """
        until = time.monotonic() + seconds
        return not any(state.look() and time.monotonic() > until for state in self._runs.values())

    def news(self, ready: bool) -> bytes | None:
        """The event for those who look already; None where nothing changed."""
        changed = [found for state in self._runs.values() if (found := state.news(ready)) is not None]
        pks = list(self._runs)
        if not changed and pks == self._told_pks and self._states == self._told_states:
            return None
        self._told_pks, self._told_states = pks, self._states
        return self._event(changed, whole=False)

    def whole(self, ready: bool) -> bytes:
        """The event for somebody who begins to look."""
        return self._event([state.whole(ready) for state in self._runs.values()], whole=True)

    def _event(self, runs: list[dict[str, Any]], whole: bool) -> bytes:
        content = {"at": now_in_iso(), "whole": whole, "all": list(self._runs), "runs": runs, "states": self._states}
        return f"event: runs\ndata: {json.dumps(content, separators=(',', ':'))}\n\n".encode()

    def _read_rules(self, connection: sqlite3.Connection, rows: list[RunRow]) -> None:
        """The rule by which waiting is judged, once for a run and its cup."""
        for row in rows:
            if row.portion_id is None:
                self._runs[row.pk].early = None
        new = [row for row in rows if row.portion_id and self._asked_for.get(row.pk) != row.portion_id]
        self._asked_for = {row.pk: row.portion_id for row in rows}
        for start in range(0, len(new), MOST_ASKED):
            part = [row.pk for row in new[start : start + MOST_ASKED]]
            found = early_rules_of(connection.execute(early_sql(len(part)), part).fetchall())
            for pk in part:
                self._runs[pk].early = found.get(pk)
