"""Reading, assurance and specification in; verdict, probability of conformity, disposition and reasons out."""

from isohume.bench.decision.determination import Determination, decide_portions, determine
from isohume.bench.decision.specification import Specification
from isohume.bench.decision.verdict import Decision, decide, undecided

__all__ = ["Decision", "Determination", "Specification", "decide", "decide_portions", "determine", "undecided"]
