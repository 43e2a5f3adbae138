"""What a captured trace says by the criterion of its method; kept in the process by the trace's digest."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from functools import lru_cache

from isohume.bench.reading.diagnosis import TraceJudged, judge_trace
from isohume.bench.reading.settling import DEFAULT_CRITERION, Criterion, Sample, growing, trace_of_samples
from isohume.bench.reading.warm_sample import mismatch_limit
from isohume.outlets.site.captures.kept import samples_of
from isohume.outlets.site.captures.models import CapturedRun
from isohume.outlets.site.register.models import Instrument, Method, MethodVersion

COARSEST = Decimal("0.05")


@dataclass(frozen=True, slots=True)
class Judged:
    """A trace with its samples, those that can be judged, and what was found; None before the first reading."""

    samples: tuple[Sample, ...]
    usable: tuple[Sample, ...]
    criterion: Criterion
    found: TraceJudged | None

    @property
    def settled_position(self) -> int | None:
        """The position, among the usable samples, of the reading that is the value; None where none is."""
        if self.found is None or self.found.settled_at_s is None:
            return None
        at = self.found.settled_at_s
        return next(i for i, one in enumerate(self.usable) if float(one.elapsed_s) == at)


def method_of(run: CapturedRun) -> MethodVersion | None:
    """The version of the method a cup is read by that was in force when the run began: no later one loosens what it
    says. A bottle's method is the instrument's of that day."""
    if run.portion is None:
        return method_of_day(run.instrument, run.started_at)
    return in_force(run.portion.sample.lot.product.method, run.started_at)


def method_of_day(instrument: Instrument, at: datetime) -> MethodVersion | None:
    """The version in force then of the method of the instrument's last start sheet, else of the plant's only method."""
    sheets = instrument.start_sheets.select_related("method_version__method")
    sheet = sheets.filter(at__lte=at).order_by("-at", "-pk").first() or sheets.order_by("at", "pk").first()
    if sheet is not None:
        return in_force(sheet.method_version.method, at)
    methods = list(Method.objects.filter(site=instrument.site_id)[:2])
    return in_force(methods[0], at) if len(methods) == 1 else None


def in_force(method: Method, at: datetime) -> MethodVersion | None:
    """The version of a method that was in force at a moment; a run from before the first one is judged by that."""
    versions = method.versions.order_by("pk")
    return versions.filter(since__lte=at).last() or versions.first()


def criterion_of(method: MethodVersion | None) -> Criterion:
    """What a method asks of a trace; the usual words where it says nothing."""
    if method is None or not (method.settled_change and method.settled_window_s):
        return DEFAULT_CRITERION
    return Criterion(Decimal(method.settled_change), Decimal(method.settled_window_s))


def limit_of(method: MethodVersion | None, instrument: Instrument) -> float:
    """How far from the block a sample may be when it is read, as where the cup is put in."""
    stated = method.mismatch_limit_c if method else ""
    return mismatch_limit(float(stated) if stated else None, instrument.measures_surface_temperature)


def judged_of(run: CapturedRun, method: MethodVersion | None = None) -> Judged:
    """What the trace of a run says.

    method: the method that it is judged by, in its version of the run's own day; without it its cup's product's.
    """
    version = in_force(method.method, run.started_at) if method else method_of(run)
    criterion, limit_k = criterion_of(version), limit_of(version, run.instrument)
    if run.trace_sha256:
        return _kept(_Sealed(run), criterion, limit_k)
    return _judge(samples_of(run), criterion, limit_k, ended=run.ended_at is not None)


class _Sealed:
    """A run whose trace is evidence: what is found by the digest never changes."""

    def __init__(self, run: CapturedRun) -> None:
        self.run = run

    def __hash__(self) -> int:
        return hash(self.run.trace_sha256)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Sealed) and other.run.trace_sha256 == self.run.trace_sha256


@lru_cache(maxsize=128)
def _kept(sealed: _Sealed, criterion: Criterion, limit_k: float) -> Judged:
    return _judge(samples_of(sealed.run), criterion, limit_k, ended=True)


def _judge(samples: tuple[Sample, ...], criterion: Criterion, limit_k: float, *, ended: bool) -> Judged:
    usable = growing(samples)
    if not usable:
        return Judged(samples, usable, criterion, None)
    trace = trace_of_samples(usable)
    found = judge_trace(trace, criterion, _resolution(usable), ended=ended, mismatch_limit_k=limit_k)
    return Judged(samples, usable, criterion, found)


def _resolution(samples: tuple[Sample, ...]) -> float:
    """The last digit of the readings as they were read."""
    finest = min(int(one.a_w.as_tuple().exponent) for one in samples)
    return float(min(Decimal(1).scaleb(finest), COARSEST))
