"""Reading, assurance and specification in; verdict, probability of conformity, disposition and reasons out."""

from isohume.bench.decision.determination import Determination, decide_portions, determine
from isohume.bench.decision.estimate import Estimates, rest_on_estimates, u_of_estimates
from isohume.bench.decision.look_back import LookBack, PortionRead, ResultAtRisk, ResultGiven, look_back
from isohume.bench.decision.position_map import LineOfMap, line_of_map, place_on_map
from isohume.bench.decision.specification import Specification
from isohume.bench.decision.strata import Strata, Stratum, judge_strata, position_key
from isohume.bench.decision.verdict import Decision, decide, undecided
from isohume.bench.decision.waiting import Waiting, waiting_could_change

__all__ = [
    "Decision",
    "Determination",
    "Estimates",
    "LineOfMap",
    "LookBack",
    "PortionRead",
    "ResultAtRisk",
    "ResultGiven",
    "Specification",
    "Strata",
    "Stratum",
    "Waiting",
    "decide",
    "decide_portions",
    "determine",
    "judge_strata",
    "line_of_map",
    "look_back",
    "place_on_map",
    "position_key",
    "rest_on_estimates",
    "u_of_estimates",
    "undecided",
    "waiting_could_change",
]
