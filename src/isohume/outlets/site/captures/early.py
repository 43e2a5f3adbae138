"""Whether waiting can still change the verdict on a captured run, for the pages."""

from __future__ import annotations

from collections.abc import Iterable

from django.db import connection

from isohume.bench.reading.settling.forecast import Forecast
from isohume.outlets.site.captures.early_rule import EarlyRule, early_rules_of, early_sql
from isohume.outlets.site.captures.models import CapturedRun


def early_rules(runs: Iterable[int]) -> dict[int, EarlyRule]:
    """The rules of captured runs by their ids, in one question; a run that nothing is said of early is left out.

    A rule may be kept as long as the run keeps its cup: limits, budget and method change by new versions only.
    """
    asked = list(runs)
    if not asked:
        return {}
    with connection.cursor() as cursor:
        cursor.execute(early_sql(len(asked), "%s"), asked)
        return early_rules_of(cursor.fetchall())


def early_words(run: CapturedRun, forecast: Forecast | None, *, settled: bool = False) -> str:
    """What waiting could still bring for a run, in words; empty where its method says nothing early.

    run: a captured run. forecast: its present one; None before the sixth reading.
    """
    if forecast is None or run.portion_id is None:
        return ""
    rule = early_rules([run.pk]).get(run.pk)
    return "" if rule is None else rule.words(forecast.value, forecast.low, forecast.high, settled=settled)
