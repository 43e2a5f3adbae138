"""A budget from historical, unverified data: it judges and says so, and it releases no food-safety limit.

Past checks and duplicates that a spreadsheet tells of may give a budget its first numbers. Nobody can show how they
were made: a lot under a safety limit is held until the budget is refreshed from the laboratory's own data. The mark
stands in the words of the budget's source, so that it goes with the budget into lot file, record and paper.
"""

from __future__ import annotations

from dataclasses import replace

from isohume.bench.decision.verdict import Decision

UNVERIFIED = "historical, unverified"
SAID = "The uncertainty budget is from historical, unverified data."
HELD = f"{SAID} It releases no food-safety limit until it is refreshed from the laboratory's own data."


def is_unverified(source: str) -> bool:
    """Whether a budget's source says that it is from historical, unverified data.

    source: where its figures come from, in words [text].
    Returns: whether the words stand in it, in any case [text].
    Source: none.
    """
    return UNVERIFIED in " ".join(source.casefold().split())


def rest_on_source(decision: Decision, source: str) -> Decision:
    """The decision with what its budget's source asks for: unverified data are told, and hold a safety limit.

    decision: the decision on a value [text].
    source: where the budget's figures come from, in words [text].
    Returns: the Decision [text]; unchanged where the budget is not from historical, unverified data.
    Example: a pass against <= 0.85 (safety) becomes a pass on hold, with the reason.
    Source: none (decision of the house: history never releases).
    """
    if decision.u is None or not is_unverified(source):
        return decision
    if decision.specification.kind == "safety":
        return replace(decision, disposition="hold", reasons=(*decision.reasons, HELD))
    return replace(decision, reasons=(*decision.reasons, SAID))
