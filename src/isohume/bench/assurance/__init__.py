"""Checks on reference solutions: may this instrument speak at this hour, in this range?"""

from isohume.bench.assurance.check import Check, CheckedSolution, CheckReading, judge_check
from isohume.bench.assurance.due import Due, DueItem, due_list
from isohume.bench.assurance.gate import Gate, may_measure_now
from isohume.bench.assurance.standing import Bracketing, Standing, bracket_limits, bracket_value, standing
from isohume.bench.assurance.start_sheet import StartSheet, judge_start

__all__ = [
    "Bracketing",
    "Check",
    "CheckReading",
    "CheckedSolution",
    "Due",
    "DueItem",
    "Gate",
    "Standing",
    "StartSheet",
    "bracket_limits",
    "bracket_value",
    "due_list",
    "judge_check",
    "judge_start",
    "may_measure_now",
    "standing",
]
