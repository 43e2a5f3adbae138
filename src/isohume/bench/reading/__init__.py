"""A run's typed values become a reading: usable or not, at which temperature, and why."""

from isohume.bench.reading.check_file import ReferenceReading, read_check_file
from isohume.bench.reading.companions import Companion, balance_check, buffer_check, moisture, ph
from isohume.bench.reading.in_process import Advice, advise
from isohume.bench.reading.plausible import History, Plausibility, judge_plausible
from isohume.bench.reading.portion_clock import Clock, ClockLimits, judge_clock
from isohume.bench.reading.preparation_guidance import FORMS, Guidance, guidance
from isohume.bench.reading.runs import Run, read_runs
from isohume.bench.reading.scope import SCOPE_FLAGS, Scope, judge_scope
from isohume.bench.reading.second_keying import Keying, compare_keyings
from isohume.bench.reading.tempering import Tempering, ready_at, tempering_limit_k
from isohume.bench.reading.usable import Judged, ReadingRules, judge_runs
from isohume.bench.reading.warm_sample import WarmSample, judge_warm_sample

__all__ = [
    "Advice",
    "Clock",
    "ClockLimits",
    "Companion",
    "FORMS",
    "Guidance",
    "History",
    "Judged",
    "Keying",
    "Plausibility",
    "ReadingRules",
    "ReferenceReading",
    "Run",
    "SCOPE_FLAGS",
    "Scope",
    "Tempering",
    "WarmSample",
    "advise",
    "balance_check",
    "buffer_check",
    "compare_keyings",
    "guidance",
    "judge_clock",
    "judge_plausible",
    "judge_runs",
    "judge_scope",
    "judge_warm_sample",
    "moisture",
    "ph",
    "read_check_file",
    "read_runs",
    "ready_at",
    "tempering_limit_k",
]
