"""Entry by entry: a run begins, gives readings, ends; an instrument says its state."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from datetime import datetime, timedelta
from typing import Any

from isohume.bench.reading.settling.compact import Sample, pack
from isohume.bench.record.transaction import Transaction
from isohume.foundation.quantity.errors import InputError
from isohume.outlets.site.captures.clock import Clock
from isohume.outlets.site.captures.kept import seal
from isohume.outlets.site.captures.models import (
    Agent,
    CapturedRun,
    Chunk,
    Expected,
    InstrumentState,
    Spool,
    UnreadLine,
)
from isohume.outlets.site.captures.queries import known_instruments, open_expected_at
from isohume.outlets.site.captures.said import say_captured
from isohume.outlets.site.captures.unread import unread_line
from isohume.outlets.site.captures.wire import OF_RUNS, Entry
from isohume.outlets.site.ledger.notes import note_rarely
from isohume.outlets.site.register.models import Instrument

UNREAD_EVERY = timedelta(minutes=10)
GREW = ("number", "ended_at", "end_reason", "readings", "repeats", "last_elapsed_s", "last_a_w", "trace_sha256")


class Taking:
    """One request's entries on their way into the database: few questions, however many entries."""

    def __init__(self, agent: Agent, spool: Spool, clock: Clock) -> None:
        self._agent, self._spool, self._clock = agent, spool, clock
        self._runs: dict[str, CapturedRun] = {}
        self._instruments: dict[str, Instrument] = {}
        self._samples: dict[str, list[Sample]] = defaultdict(list)
        self._first: dict[str, int] = {}
        self._sealed: dict[str, CapturedRun] = {}
        self._states: dict[int, InstrumentState] = {}
        self._unread_said: set[int] = set()
        self._unread_lines: list[UnreadLine] = []

    def take(self, entries: Sequence[Entry], evidence: Transaction) -> None:
        """All of them, or none: an entry that cannot be taken in is an InputError with its number."""
        keys = {entry.run for entry in entries if entry.kind in OF_RUNS}
        known = CapturedRun.objects.filter(spool=self._spool, key__in=keys)
        self._runs = {run.key: run for run in known.select_related("instrument", "agent", "spool")}
        self._instruments = known_instruments(self._agent.site, {entry.instrument for entry in entries})
        for entry in entries:
            try:
                getattr(self, f"_{entry.kind}")(entry)
            except InputError as error:
                raise error.at(row=entry.n) from None
        self._keep(evidence)

    def _instrument(self, entry: Entry) -> Instrument:
        found = self._instruments.get(entry.instrument)
        if found is None:
            allowed = f"name or serial number of an instrument of {self._agent.site.name}, as its register has it"
            raise InputError("instrument", entry.instrument, allowed)
        return found

    def _run(self, entry: Entry) -> CapturedRun:
        run, instrument = self._runs.get(entry.run), self._instrument(entry)
        if run is None or run.instrument_id != instrument.pk:
            raise InputError("run", entry.run, f"a run that was started on {instrument}")
        return run

    def _start(self, entry: Entry) -> None:
        if entry.run in self._runs:
            raise InputError("run", entry.run, "a name that no other run of the spool has")
        instrument, at = self._instrument(entry), self._clock.moment(entry)
        run = CapturedRun(
            site=self._agent.site,
            instrument=instrument,
            agent=self._agent,
            spool=self._spool,
            key=entry.run,
            number=entry.said["number"],
            started_at=at,
            time_doubt=self._clock.doubt(entry),
        )
        run.save()
        self._runs[entry.run] = run

    def _say_whose(self, run: CapturedRun, read_at: datetime) -> None:
        """What was said to be next, at the first reading: a lid that was opened and closed is nobody's run.

        Where nobody knows when a run was, or where the word was taken back before the first reading, a person says
        whose it is. The same word said again, by somebody else, takes nothing back.
        """
        if run.time_doubt or run.of is not None:
            return
        expected = open_expected_at(run.instrument, run.started_at)
        if expected is not None and expected.dropped_at is not None and expected.dropped_at <= read_at:
            expected = _said_again(expected, open_expected_at(run.instrument, read_at))
        if expected is None:
            return
        run.portion, run.bottle = expected.portion, expected.bottle
        run.assigned_at, run.assigned_by = expected.at, expected.by
        run.save(update_fields=["portion", "bottle", "assigned_at", "assigned_by"])
        expected.taken = run
        expected.save(update_fields=["taken"])

    def _reading(self, entry: Entry) -> None:
        run, sample = self._run(entry), entry.sample
        assert sample is not None, "a reading has its sample"
        said = (f"{sample.elapsed_s:f}", f"{sample.a_w:f}")
        if said == (run.last_elapsed_s, run.last_a_w):
            run.repeats += 1
            return
        if not run.readings and run.ended_at is None:
            self._say_whose(run, self._clock.moment(entry))
        self._first.setdefault(run.key, run.readings)
        self._samples[run.key].append(sample)
        run.readings += 1
        run.last_elapsed_s, run.last_a_w = said
        if run.ended_at is not None:
            self._sealed[run.key] = run

    def _end(self, entry: Entry) -> None:
        run = self._run(entry)
        if run.ended_at is None:
            run.ended_at = max(self._clock.moment(entry), run.started_at)
            run.end_reason = entry.said["reason"]
            run.number = run.number or entry.said["number"]  # some instruments number a run only when it is over
            self._sealed[run.key] = run

    def _state(self, entry: Entry) -> None:
        instrument = self._instrument(entry)
        self._states[instrument.pk] = InstrumentState(
            instrument=instrument,
            state=entry.said["state"],
            block_temperature_c=entry.block_temperature_c,
            at=self._clock.moment(entry),
        )

    def _unread(self, entry: Entry) -> None:
        """A line that the laboratory's rule does not read: kept; said in the ledger, not at every line of a flood."""
        instrument = self._instrument(entry)
        self._unread_lines.append(unread_line(self._spool, instrument, self._clock.moment(entry), entry))
        if instrument.pk in self._unread_said:
            return
        self._unread_said.add(instrument.pk)
        by = self._agent.ledger_name
        line, reason = entry.said["line"][:300], entry.said["reason"]
        said: dict[str, Any] = {"line": line, "reason": reason, "agent": self._agent.ref}
        note_rarely("line_unread", instrument.ref, self._clock.now, by, UNREAD_EVERY, **said)

    def _keep(self, evidence: Transaction) -> None:
        Chunk.objects.bulk_create(
            Chunk(run=self._runs[key], first=self._first[key], count=len(samples), body=pack(samples))
            for key, samples in self._samples.items()
        )
        for run in self._sealed.values():
            seal(run, evidence)
        touched = {*self._samples, *self._sealed, *(key for key, run in self._runs.items() if run.repeats)}
        CapturedRun.objects.bulk_update([self._runs[key] for key in touched], GREW)
        for run in self._sealed.values():
            say_captured(run, evidence)
        UnreadLine.objects.bulk_create(self._unread_lines)
        InstrumentState.objects.bulk_create(
            self._states.values(),
            update_conflicts=True,
            unique_fields=["instrument"],
            update_fields=["state", "block_temperature_c", "at"],
        )


def _said_again(before: Expected, now: Expected | None) -> Expected | None:
    """The word that stands now, where it names the same cup or bottle as the one before."""
    if now is None or (now.portion_id, now.bottle_id) != (before.portion_id, before.bottle_id):
        return None
    return now
