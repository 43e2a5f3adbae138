"""The look-backs of failed checks that belong together, as the command line shows them: one list, each lot once."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import datetime
from typing import TYPE_CHECKING

from isohume.bench.decision.look_back import ResultAtRisk, worst_first

if TYPE_CHECKING:
    from isohume.bench.assurance.look_back import PastCheck
    from isohume.outlets.site.checks.models import Check
    from isohume.outlets.site.lookback.queries import Looked


class LookedChecks:
    """The union of several look-backs, that of the last failed check first; a lot stands by its worst result."""

    def __init__(self, backs: Sequence[Looked]) -> None:
        self.backs = tuple(backs)
        self._of = {id(result): one for one in backs for result in (*one.back.results, *one.back.beside)}
        self.results = _once(result for one in backs for result in one.back.results)
        touched = {result.given.key for result in self.results}
        beside = _once(result for one in backs for result in one.back.beside)
        self.beside = [result for result in beside if result.given.key not in touched]

    def check_of(self, result: ResultAtRisk) -> Check:
        """The failed check that a result is the worst of."""
        return self._of[id(result)].check

    def state_of(self, result: ResultAtRisk) -> str:
        """What the lot of a result is now."""
        return str(self._of[id(result)].of(result).lot.state)

    @property
    def since(self) -> datetime | None:
        """From when on something may be at risk; None: from the beginning."""
        moments = [one.back.window.since for one in self.backs]
        return None if not moments or None in moments else min(moment for moment in moments if moment is not None)

    @property
    def until(self) -> datetime | None:
        """Until when something may be at risk; None: until now."""
        moments = [one.back.window.until for one in self.backs]
        return None if not moments or None in moments else max(moment for moment in moments if moment is not None)

    @property
    def last_good(self) -> PastCheck | None:
        """The last check that passed before the first of the failed ones."""
        return self.backs[-1].back.window.last_good if self.backs else None


def _once(results: Iterable[ResultAtRisk]) -> list[ResultAtRisk]:
    """Each lot by its worst result, worst first."""
    kept: dict[int, ResultAtRisk] = {}
    for result in worst_first(results):
        kept.setdefault(result.given.key, result)
    return list(kept.values())
