"""A run's typed values become a reading: usable or not, at which temperature, and why."""

from isohume.bench.reading.check_file import ReferenceReading, read_check_file
from isohume.bench.reading.companions import Companion, balance_check, buffer_check, moisture, ph
from isohume.bench.reading.runs import Run, read_runs
from isohume.bench.reading.usable import Judged, ReadingRules, judge_runs
from isohume.bench.reading.warm_sample import WarmSample, judge_warm_sample

__all__ = [
    "Companion",
    "Judged",
    "ReadingRules",
    "ReferenceReading",
    "Run",
    "WarmSample",
    "balance_check",
    "buffer_check",
    "judge_runs",
    "judge_warm_sample",
    "moisture",
    "ph",
    "read_check_file",
    "read_runs",
]
