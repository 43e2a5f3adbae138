"""Checks on reference solutions: may this instrument speak at this hour, in this range?"""

from isohume.bench.assurance.after_failure import (
    Facts,
    Sequence,
    Step,
    after_failure,
    against_answer,
    reasons_against_adjusting,
    reasons_against_repeating,
)
from isohume.bench.assurance.answered import Answer, CheckFact, answers
from isohume.bench.assurance.bias import Bias, BiasPoint, bias_at
from isohume.bench.assurance.check import Check, CheckedSolution, CheckReading, judge_check
from isohume.bench.assurance.corrected_check import CheckedBothWays, judge_corrected_check
from isohume.bench.assurance.correction import (
    Caps,
    Correction,
    FittedCorrection,
    Move,
    ReadReference,
    Walked,
    against_correction,
    cumulative_walk,
    fit_correction,
    make_correction,
    references_of,
)
from isohume.bench.assurance.due import Due, DueItem, due_list
from isohume.bench.assurance.gate import Gate, may_measure_now
from isohume.bench.assurance.look_back import PastCheck, PastReading, ReferenceInCheck, Window, window_of
from isohume.bench.assurance.standing import Bracketing, Standing, bracket_limits, bracket_value, standing
from isohume.bench.assurance.start_sheet import StartSheet, judge_start

__all__ = [
    "Answer",
    "Bias",
    "BiasPoint",
    "Bracketing",
    "Caps",
    "Check",
    "CheckFact",
    "CheckReading",
    "CheckedBothWays",
    "CheckedSolution",
    "Correction",
    "Due",
    "DueItem",
    "Facts",
    "FittedCorrection",
    "Gate",
    "Move",
    "PastCheck",
    "PastReading",
    "ReadReference",
    "ReferenceInCheck",
    "Sequence",
    "Standing",
    "StartSheet",
    "Step",
    "Walked",
    "Window",
    "after_failure",
    "against_answer",
    "against_correction",
    "answers",
    "bias_at",
    "bracket_limits",
    "bracket_value",
    "cumulative_walk",
    "due_list",
    "fit_correction",
    "judge_check",
    "judge_corrected_check",
    "judge_start",
    "make_correction",
    "may_measure_now",
    "reasons_against_adjusting",
    "reasons_against_repeating",
    "references_of",
    "standing",
    "window_of",
]
