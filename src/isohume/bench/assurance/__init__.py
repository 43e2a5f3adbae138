"""Checks on reference solutions: may this instrument speak at this hour, in this range?"""

from isohume.bench.assurance.check import Check, CheckedSolution, CheckReading, judge_check
from isohume.bench.assurance.standing import Bracketing, Standing, bracket_limits, bracket_value, standing

__all__ = [
    "Bracketing",
    "Check",
    "CheckReading",
    "CheckedSolution",
    "Standing",
    "bracket_limits",
    "bracket_value",
    "judge_check",
    "standing",
]
