"""What a manager does each quarter: looks at a budget and keeps it, adopts a proposed one, sets the old one again."""

from __future__ import annotations

from collections.abc import Iterator

from django.utils import timezone
from tests.site.acts import Act, Words

from isohume.outlets.site.budgets.proposal import propose
from isohume.outlets.site.register.models import Budget, MethodVersion

MANAGER = "mfarrow"


def budget_acts(words: Words) -> Iterator[Act]:
    """The plant's own method; its budget stands afterwards as before, so that what was judged by it still holds."""
    version = MethodVersion.objects.earliest("pk")
    before = Budget.objects.get(method_version=version)
    kept = {"act": "keep", "reason": words("A new bottle of NaCl came in this week", 300)}
    yield Act("budget_kept", "budget_refresh", (version.pk,), MANAGER, kept)
    proposal = propose(version, timezone.now()).digest
    adopted = {"act": "adopt", "proposal": proposal, "reason": words("Own data of the third quarter", 300)}
    yield Act("budget_adopted", "budget_refresh", (version.pk,), MANAGER, adopted)
    again = {
        "basis": before.basis,
        "u_other": before.u_other,
        "s_r": before.s_r,
        "s_reproducibility": before.s_reproducibility,
        "s_position": before.s_position,
        "source": before.source,
        "reason": words("Adopted too early: the control product is not read yet", 300),
    }
    yield Act("budget_set", "methodversion_act", (version.pk, "budget"), MANAGER, again)
