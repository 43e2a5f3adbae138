"""One captured run as a stream tells it: watched reading by reading, in words, told again only where it changed."""

from __future__ import annotations

import math
import sqlite3
from datetime import UTC, datetime
from decimal import Decimal
from typing import Any

from isohume.bench.reading.settling.compact import Sample, unpack
from isohume.bench.reading.settling.criterion import DEFAULT_CRITERION, Criterion
from isohume.bench.reading.settling.forecast import Forecast
from isohume.bench.reading.settling.kept_run import unpack_run
from isohume.bench.reading.warm_sample import mismatch_limit
from isohume.bench.reading.watch import Watch
from isohume.foundation.quantity.errors import InputError
from isohume.outlets.site.captures.early_rule import EarlyRule
from isohume.outlets.site.live.run_sql import CHUNKS, KEPT, RunRow, in_iso

MOST_POINTS = 600
PREPARING = "Forecast in preparation: it is compiled once for this version, some seconds."
UNREADABLE = "The kept trace of this run cannot be read: see the run's own page."


class RunState:
    """A run, its watch, and how far it was told."""

    def __init__(self, row: RunRow) -> None:
        self.row = row
        self.watch = Watch(criterion_of(row), mismatch_limit_k=limit_of(row))
        self.early: EarlyRule | None = None
        self._looked_n = 0
        self._raw = 0  # samples taken from the chunks, those that cannot be judged too
        self._kept = ""  # the digest of the evidence that was looked at last
        self._told: dict[str, Any] = {}
        self._told_n = 0
        self._trouble = ""

    def follow(self, row: RunRow, connection: sqlite3.Connection) -> None:
        """Its row as it is now, and the readings that came since."""
        before, self.row = self.row, row
        if (row.version_id, row.portion_id) != (before.version_id, before.portion_id):
            self.watch.judge_by(criterion_of(row), limit_of(row))
        if row.readings != self._raw or row.trace_sha256 != self._kept:
            self._take_new(connection)

    def look(self) -> bool:
        """Forecast and diagnosis up to the last reading; whether there were new readings."""
        before, self._looked_n = self._looked_n, self.watch.n
        self.watch.look(ended=self.row.ended_at is not None)
        return self._looked_n > before

    def news(self, ready: bool) -> dict[str, Any] | None:
        """What changed since it was told last, with the readings that came since; None where nothing did."""
        said, points = self._said(ready), self.watch.points(self._told_n)
        if said == self._told and not points:
            return None
        self._told, self._told_n = said, self.watch.n
        return {**said, "points": points}

    def whole(self, ready: bool) -> dict[str, Any]:
        """Everything, its trace thinned."""
        points = self.watch.points()
        step = math.ceil(len(points) / MOST_POINTS) if points else 1
        thinned = points[::step]
        if points and thinned[-1] != points[-1]:
            thinned = [*thinned[: MOST_POINTS - 1], points[-1]]
        return {**self._said(ready), "points": thinned}

    def _take_new(self, connection: sqlite3.Connection) -> None:
        """From the pieces while it grows; what was missed before it ended, from the evidence."""
        try:
            if self.row.trace_sha256 and self._raw < self.row.readings:
                kept = connection.execute(KEPT, (self.row.trace_sha256,)).fetchone()
                self._take(0, unpack_run(bytes(kept[0]))[1] if kept else ())
            for first, body in connection.execute(CHUNKS, (self.row.pk, self._raw)).fetchall():
                self._take(first, unpack(bytes(body)))
        except InputError:
            self._trouble = UNREADABLE
        self._kept = self.row.trace_sha256

    def _take(self, first: int, samples: tuple[Sample, ...]) -> None:
        new = samples[max(self._raw - first, 0) :]
        self.watch.take(new)
        self._raw += len(new)

    def _said(self, ready: bool) -> dict[str, Any]:
        row, watch, last = self.row, self.watch, self.watch.last
        forecast = watch.forecast
        return {
            "pk": row.pk,
            "instrument_id": row.instrument_id,
            "instrument": row.instrument,
            "number": row.number,
            "started_at": in_iso(row.started_at),
            "ended": row.ended_at is not None,
            "end_reason": row.end_reason,
            "elapsed_s": None if last is None else float(last.elapsed_s),
            "n": watch.n,
            "a_w": None if last is None else plain(last.a_w),
            "forecast": None if forecast is None else _rounded(forecast),
            "settled": watch.settled,
            "settled_at_s": watch.met_at_s if watch.settled else None,
            "value": plain(watch.value),
            "met_at_s": watch.met_at_s,
            "criterion": watch.criterion.words,
            "seconds_left": self._seconds_left(),
            **self._temperatures(),
            **self._diagnosis(ready),
            "of": row.of,
            "assigned": "cup" if row.portion_id else "bottle" if row.bottle_id else "",
            "clock": self._clock(),
            "limits": self.row.limits,
            "early": self._early(),
        }

    def _seconds_left(self) -> int | None:
        left = self.watch.seconds_left
        return None if left is None or math.isinf(left) or self.row.ended_at else round(left)

    def _temperatures(self) -> dict[str, Any]:
        last, difference = self.watch.last, self.watch.difference_k
        sample, block = (last.sample_temperature_c, last.block_temperature_c) if last else (None, None)
        return {
            "sample_temperature_c": plain(sample),
            "block_temperature_c": plain(block),
            "difference_k": None if difference is None else round(difference, 2),
            "limit_k": self.row.mismatch_limit_c or None,
        }

    def _diagnosis(self, ready: bool) -> dict[str, Any]:
        judged, trouble = self.watch.judged, [self._trouble] if self._trouble else []
        if judged is None:
            words = trouble or ([] if ready else [PREPARING])
            return {"diagnosis": "", "words": words, "action": "", "wrong": bool(trouble)}
        finding = judged.finding
        return {
            "diagnosis": finding.diagnosis,
            "words": [*trouble, *finding.evidence],
            "action": finding.action,
            "wrong": self.watch.wrong or bool(trouble),
        }

    def _clock(self) -> dict[str, Any] | None:
        row = self.row
        if row.covered_at is None or row.cover is None:
            return None
        return {"cover": row.cover, "since": in_iso(row.covered_at), "limit_min": row.limit_min}

    def _early(self) -> str:
        forecast = self.watch.forecast
        if self.early is None or forecast is None:
            return ""
        return self.early.words(forecast.value, forecast.low, forecast.high, settled=self.watch.settled)


def criterion_of(row: RunRow) -> Criterion:
    """What the method asks: of the cup, else of the instrument's day; the usual words where it says nothing."""
    if not (row.settled_change and row.settled_window_s):
        return DEFAULT_CRITERION
    return Criterion(Decimal(row.settled_change), Decimal(row.settled_window_s))


def limit_of(row: RunRow) -> float:
    """How far from the block a sample may be when it is read, as captures.judged.limit_of has it."""
    stated = row.mismatch_limit_c
    return mismatch_limit(float(stated) if stated else None, bool(row.measures_surface_temperature))


def now_in_iso() -> str:
    """The present moment, for the page's clocks."""
    return datetime.now(UTC).isoformat(timespec="milliseconds").replace("+00:00", "Z")


def plain(number: Decimal | None) -> str | None:
    """A number as it was read."""
    return None if number is None else f"{number}"


def _rounded(forecast: Forecast) -> list[float]:
    return [round(one, 5) for one in (forecast.value, forecast.low, forecast.high)]
