"""A run's trace: has it settled, and where will it end?"""

from isohume.bench.reading.settling.compact import Sample, growing, pack, trace_of_samples, unpack
from isohume.bench.reading.settling.criterion import DEFAULT_CRITERION, Criterion, read_criterion, settled_at
from isohume.bench.reading.settling.forecast import (
    Forecast,
    Forecaster,
    forecast_is_ready,
    forecasts,
    prepare_forecast,
)
from isohume.bench.reading.settling.trace import Trace, trace_of
from isohume.bench.reading.settling.trace_file import read_trace

__all__ = [
    "Criterion",
    "DEFAULT_CRITERION",
    "Forecast",
    "Forecaster",
    "Sample",
    "Trace",
    "forecast_is_ready",
    "forecasts",
    "growing",
    "pack",
    "prepare_forecast",
    "read_criterion",
    "read_trace",
    "settled_at",
    "trace_of",
    "trace_of_samples",
    "unpack",
]
