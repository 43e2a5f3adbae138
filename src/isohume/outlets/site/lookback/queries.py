"""The questions of the look-back: what is at risk since the last good check, and which failed check is meant."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from django.db.models import QuerySet

from isohume.bench.assurance.bias import BiasPoint
from isohume.bench.decision.look_back import LookBack, ResultAtRisk, look_back
from isohume.outlets.site.bench.models import Lot
from isohume.outlets.site.checks.models import Check
from isohume.outlets.site.checks.queries import WEIGHS
from isohume.outlets.site.checks.window_of_check import bias_points, window_of_check
from isohume.outlets.site.lookback.results import Found, results_about
from isohume.outlets.site.register.models import Instrument

MOST_FAILED = 100


@dataclass(frozen=True, slots=True)
class Looked:
    """A look-back with the lots and records behind its results, by the lot's key."""

    check: Check
    back: LookBack
    found: dict[int, Found]

    def of(self, result: ResultAtRisk) -> Found:
        """The lot and the record of a result."""
        return self.found[result.given.key]

    @property
    def lots(self) -> list[Lot]:
        """The lots at risk, worst first."""
        return [self.of(result).lot for result in self.back.results]


def looked_back(check: Check) -> Looked:
    """The look-back of a failed check, from what stands in the tables; the same question has the same answer.

    Raises: InputError where the check passed or is void.
    """
    window = window_of_check(check)
    found = results_about(check, window)
    # the comparison in time needs the readings of the checks before, and nothing else does
    before = Check.objects.in_bulk([past.id for past in window.before])
    good: dict[int, list[BiasPoint]] = {pk: bias_points(one) for pk, one in before.items()}
    back = look_back(window, bias_points(check), [one.given for one in found], good)
    return Looked(check, back, {one.given.key: one for one in found})


def failed_checks(instrument: Instrument) -> QuerySet[Check]:
    """The failed checks of an instrument that are not void, the last one first."""
    found = Check.objects.filter(WEIGHS, instrument=instrument, passed=False)
    return found.select_related("instrument__site", "method_version", "by").order_by("-last_read_at", "-pk")


def unanswered(instrument: Instrument) -> list[Check]:
    """The last failed check, and those before it that no check had answered when it was read, the last one first.

    A repeat that fails on other references does not outvote the check before it: its lots are at risk as well.
    """
    found = list(failed_checks(instrument)[:MOST_FAILED])
    return [check for check in found if check is found[0] or _open_at(check, found[0].first_read_at)]


def _open_at(check: Check, at: datetime) -> bool:
    until = window_of_check(check).until
    return until is None or until > at
