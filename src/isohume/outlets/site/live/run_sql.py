"""What is asked of the database about captured runs, and its rows. Plain SQL: the live process has no models."""

from __future__ import annotations

import sqlite3
from datetime import datetime, timedelta
from typing import Any, NamedTuple

SHOWN_AFTER_END = timedelta(hours=12)
MOST_RUNS = 200
SIGNS = {"<": "<", "<=": "≤", ">": ">", ">=": "≥"}
NEXT_STANDS = timedelta(hours=4)  # as captures.queries.STANDS has it

# a bottle has no product: it is judged by the method of the instrument's day, as captures.judged.method_of has it
RUNS = """SELECT run.id, run.instrument_id, instrument.name, run.number, run.started_at, run.ended_at, run.end_reason,
    run.readings, run.repeats, run.trace_sha256, run.portion_id, run.bottle_id,
    lot.code, sample.code, portion.code, product.name, portion.cover, portion.covered_at,
    solution.solution, solution.molality, bottle.code,
    version.id, version.settled_change, version.settled_window_s, version.mismatch_limit_c,
    instrument.measures_surface_temperature,
    version.open_limit_min, version.lidded_limit_h, version.film_limit_h,
    spec.lower, spec.lower_operator, spec.upper, spec.upper_operator
FROM captures_capturedrun AS run
JOIN register_instrument AS instrument ON instrument.id = run.instrument_id
LEFT JOIN bench_portion AS portion ON portion.id = run.portion_id
LEFT JOIN bench_sample AS sample ON sample.id = portion.sample_id
LEFT JOIN bench_lot AS lot ON lot.id = sample.lot_id
LEFT JOIN register_specificationversion AS spec ON spec.id = lot.specification_id
LEFT JOIN register_product AS product ON product.id = lot.product_id
LEFT JOIN register_bottle AS bottle ON bottle.id = run.bottle_id
LEFT JOIN register_solutionlot AS solution ON solution.id = bottle.solution_lot_id
LEFT JOIN register_methodversion AS version ON version.id =
    (SELECT coalesce(max(CASE WHEN one.since <= run.started_at THEN one.id END), min(one.id))
        FROM register_methodversion AS one WHERE one.method_id = coalesce(product.method_id,
        (SELECT of_day.method_id FROM checks_startsheet AS sheet
            JOIN register_methodversion AS of_day ON of_day.id = sheet.method_version_id
            WHERE sheet.instrument_id = run.instrument_id ORDER BY sheet.at DESC, sheet.id DESC LIMIT 1),
        (SELECT CASE WHEN count(*) = 1 THEN max(only.id) END FROM register_method AS only
            WHERE only.site_id = run.site_id)))
WHERE run.site_id = ? AND run.fate = 'waiting' AND (run.ended_at IS NULL OR run.ended_at > ?)
ORDER BY run.ended_at IS NOT NULL, run.started_at DESC, run.id DESC LIMIT ?"""
CHUNKS = "SELECT first, body FROM captures_chunk WHERE run_id = ? AND first + count > ? ORDER BY first"
KEPT = "SELECT body FROM file WHERE sha256 = ?"
STATES = """SELECT state.instrument_id, state.state, state.block_temperature_c, state.at
FROM captures_instrumentstate AS state JOIN register_instrument AS instrument ON instrument.id = state.instrument_id
WHERE instrument.site_id = ? ORDER BY instrument.name"""
EXPECTED = """SELECT expected.instrument_id, lot.code, sample.code, portion.code, solution.solution, solution.molality,
    bottle.code
FROM captures_expected AS expected
JOIN register_instrument AS instrument ON instrument.id = expected.instrument_id
LEFT JOIN bench_portion AS portion ON portion.id = expected.portion_id
LEFT JOIN bench_sample AS sample ON sample.id = portion.sample_id
LEFT JOIN bench_lot AS lot ON lot.id = sample.lot_id
LEFT JOIN register_bottle AS bottle ON bottle.id = expected.bottle_id
LEFT JOIN register_solutionlot AS solution ON solution.id = bottle.solution_lot_id
WHERE instrument.site_id = ? AND expected.taken_id IS NULL AND expected.dropped_at IS NULL AND expected.at > ?
ORDER BY expected.id"""


class RunRow(NamedTuple):
    """A captured run with what it is of; None where it is not said yet."""

    pk: int
    instrument_id: int
    instrument: str
    number: str
    started_at: str
    ended_at: str | None
    end_reason: str
    readings: int
    repeats: int
    trace_sha256: str
    portion_id: int | None
    bottle_id: int | None
    lot: str | None
    sample: str | None
    portion: str | None
    product: str | None
    cover: str | None
    covered_at: str | None
    solution: str | None
    molality: str | None
    bottle: str | None
    version_id: int | None
    settled_change: str | None
    settled_window_s: str | None
    mismatch_limit_c: str | None
    measures_surface_temperature: int
    open_limit_min: int | None
    lidded_limit_h: int | None
    film_limit_h: int | None
    lower: str | None
    lower_operator: str | None
    upper: str | None
    upper_operator: str | None

    @property
    def limits(self) -> list[tuple[float, str]]:
        """The limits of the lot's specification, each with how it is written."""
        given = ((self.lower, self.lower_operator or ">="), (self.upper, self.upper_operator or "<="))
        return [(float(limit), f"{SIGNS[operator]} {limit}") for limit, operator in given if limit]

    @property
    def of(self) -> str:
        """The cup or bottle in words; blank where nobody has said it."""
        found = of_words(self.lot, self.sample, self.portion, self.solution, self.molality, self.bottle)
        return f"{found}, {self.product}" if self.product else found

    @property
    def limit_min(self) -> int | None:
        """How many minutes the cup may wait under its cover."""
        limits = {
            "open": self.open_limit_min,
            "lidded": self.lidded_limit_h and 60 * self.lidded_limit_h,
            "film-wrapped": self.film_limit_h and 60 * self.film_limit_h,
        }
        return limits.get(self.cover or "")


def runs_of(connection: sqlite3.Connection, site: int, now: datetime) -> list[RunRow]:
    """The runs of a plant that go on, or ended a while ago and wait for a person; those that go on first."""
    rows = connection.execute(RUNS, (site, in_database(now - SHOWN_AFTER_END), MOST_RUNS))
    return [RunRow(*row) for row in rows]


def states_of(connection: sqlite3.Connection, site: int, now: datetime) -> list[dict[str, Any]]:
    """What each instrument last said of itself, and what its next run will be."""
    found: dict[int, dict[str, Any]] = {}
    for instrument, state, block, at in connection.execute(STATES, (site,)):
        found[instrument] = {"state": state, "block_temperature_c": block, "at": in_iso(at)}
    for instrument, *of in connection.execute(EXPECTED, (site, in_database(now - NEXT_STANDS))):
        found.setdefault(instrument, {})["next"] = of_words(*of)
    return [{"instrument": instrument, **said} for instrument, said in found.items()]


def of_words(
    lot: str | None, sample: str | None, cup: str | None, solution: str | None, molality: str | None, bottle: str | None
) -> str:
    """A cup or a bottle as the pages say it."""
    if cup is not None:
        return f"{lot} / {sample} / {cup}"
    if bottle is not None:
        return f"{solution} {f'{molality} mol/kg' if molality else 'saturated'}, bottle {bottle}"
    return ""


def in_database(moment: datetime) -> str:
    """A moment as the database compares it."""
    return f"{moment:%Y-%m-%d %H:%M:%S}"


def in_iso(moment: str) -> str:
    """A moment of the database as JavaScript reads it."""
    return f"{moment.replace(' ', 'T')}Z"
