"""A lot that is released or rejected is closed: whatever is added to it needs a reason."""

from __future__ import annotations

from collections.abc import Iterable

from isohume.outlets.site.bench.models import Lot

DECIDED = ("released", "rejected")


def refuse_decided(lot: Lot, reason: str, what: str) -> Iterable[str]:
    """The refusal where a decided lot would take something more without a reason.

    what: what would be added, such as "another sample" [text].
    """
    if lot.state in DECIDED and not reason.strip():
        return [f"Lot {lot.code} is {lot.state}: {what} needs a reason."]
    return []
