"""One read of a cup is one row: what an instrument gave by itself is not typed or imported a second time.

A typed number says nothing of how its run ended. Beside a captured run it would be that run's own last number, free of
its trace, of its label as an estimate, and of the cause for which it was voided.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime, timedelta

from django.db.models import Q

from isohume.outlets.site.bench.models import Portion, Run
from isohume.outlets.site.bench.moments import shown_at
from isohume.outlets.site.captures.models import CapturedRun
from isohume.outlets.site.captures.queries import STANDS
from isohume.outlets.site.register.models import Instrument

SOON = timedelta(minutes=15)
"""A number said to be of so soon before or after a run of the same cup is that run's own (no source)."""
AGAIN = timedelta(hours=1)
"""Until then a voided or accepted cup is read again with its instrument captured, or waits for it (no source)."""
AROUND = timedelta(days=1)
"""Runs that began longer ago are another day's; an instrument's own number may come again by then (no source)."""


class SeenAt(str):
    """A reason that names a captured run, with the page where it is seen."""

    __slots__ = ("href", "seen")

    href: str
    seen: str

    @classmethod
    def of(cls, words: str, run: CapturedRun) -> SeenAt:
        """These words, with the page of the run that they name."""
        said = cls(words)
        said.href, said.seen = run.get_absolute_url(), run.named.capitalize()
        return said


def captured_already(portion: Portion, instrument: Instrument, at: datetime, number: str = "") -> list[str]:
    """Why a number of a cup is neither typed nor imported: the captured run that this read is, whatever became of it.

    at: when it was read, as was said. number: the instrument's own number of it, where one was given.
    """
    for run in _around(instrument, at):
        if run.portion_id not in (None, portion.pk) or run.bottle_id is not None:
            continue
        if (number and run.number == number) or _is_this_read(run, at):
            return [_said(run, portion)]
    return []


def typed_of(run: CapturedRun) -> list[Run]:
    """The counting runs that somebody typed or imported of this very read, before the captured run came in."""
    if run.portion_id is None or not run.readings:
        return []
    until = min(_last_reading(run) + SOON, _next_start(run) or datetime.max.replace(tzinfo=run.started_at.tzinfo))
    by_hand = Run.objects.filter(portion=run.portion_id, instrument=run.instrument_id, trace_sha256="", void_reason="")
    same = Q(read_at__range=(_minute(run.started_at), until))
    if run.number:
        same |= Q(instrument_number=run.number, read_at__gt=run.started_at - AROUND, read_at__lt=until + AROUND)
    return list(by_hand.filter(same, corrected_by=None).order_by("pk"))


def _around(instrument: Instrument, at: datetime) -> Iterable[CapturedRun]:
    """The runs with readings that the instrument gave, the last one before that moment first."""
    near = Q(started_at__gt=at - AROUND, started_at__lt=at + AROUND)
    found = CapturedRun.objects.filter(near, instrument=instrument, readings__gt=0)
    return found.select_related("agent", "instrument__site").order_by("-started_at", "-pk")


def _is_this_read(run: CapturedRun, at: datetime) -> bool:
    """Whether a moment lies in a run or so shortly after it that no other read can lie between.

    While the agent is heard a re-read has a captured run of its own, so that the time until the next start belongs to
    this one, as long as a lidded cup may wait. An agent that was not heard since has nothing to send, or missed it.
    """
    if run.time_doubt and (run.portion_id is not None or run.fate == "waiting"):
        return True  # nobody knows when it was: it may have been then
    last, began = _last_reading(run), _minute(run.started_at)
    if at < began:  # said of the same cup once this run is known: two reads do not follow each other so soon
        return run.portion_id is not None and at > began - SOON
    if at <= last:
        return True
    if run.portion_id is None and run.fate != "waiting":  # an orphan that was answered for speaks for its span alone
        return False
    following = _next_start(run)
    if following is not None and following <= at:
        return False
    heard = run.agent.last_seen_at is not None and run.agent.last_seen_at >= at
    silent = SOON if run.portion_id is None else AGAIN
    return at <= last + (STANDS if heard else silent)


def _last_reading(run: CapturedRun) -> datetime:
    """A run that goes on reaches to its last reading."""
    return run.ended_at or run.started_at + timedelta(seconds=float(run.last_elapsed_s or 0))


def _next_start(run: CapturedRun) -> datetime | None:
    later = CapturedRun.objects.filter(instrument=run.instrument_id, readings__gt=0, started_at__gt=run.started_at)
    return later.order_by("started_at").values_list("started_at", flat=True).first()


def _minute(at: datetime) -> datetime:
    """Forms give minutes, agents give seconds."""
    return at.replace(second=0, microsecond=0)


def _said(run: CapturedRun, portion: Portion) -> str:
    began = f"on {run.instrument.name}, from {shown_at(run.started_at, run.instrument.site)}"
    if run.portion_id is None and run.fate == "waiting":
        words = f"Nobody has said whose {run.named} is ({began}): say so on its page, and no number is typed."
    elif run.portion_id is None:
        words = f"At that time {run.instrument.name} gave {run.named}, which is void: read cup {portion.code} again."
    else:
        became = {
            "waiting": "accept it or void it on its page",
            "accepted": f"it is run {run.run_id}",
            "void": "it is void, and so is its number",
        }[run.fate]
        words = (
            f"This read is {run.named} of cup {portion.code} ({began}): {became}. A re-read gives a captured run of "
            "its own; its number is not typed."
        )
    return SeenAt.of(words, run)
