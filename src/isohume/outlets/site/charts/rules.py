"""The rules a chart goes by, what each asks for, and what a signal means in words."""

from __future__ import annotations

import json
from functools import lru_cache
from typing import Any

from django.db import connection

from isohume.foundation.metrology.charts_by_point import BEYOND_LIMITS, ChartRules
from isohume.foundation.metrology.run_length import average_run_length
from isohume.foundation.metrology.run_rules import Signal
from isohume.outlets.site.charts.events import moment_of
from isohume.outlets.site.charts.models import Chart, ChartRule
from isohume.outlets.site.charts.parts import part_of
from isohume.outlets.site.people.models import Person, Site

RULE = """
SELECT r.id, r.site_id, r.chart_id, r.kind, r.baseline, r.weight, r.h, r.sigma, r.reason, r.by_id,
  r.rules, r.since, p.printed_name
FROM charts_chartrule r JOIN people_person p ON p.id = r.by_id
WHERE r.chart_id = %s OR (r.chart_id IS NULL AND r.site_id = %s) ORDER BY r.chart_id IS NULL, r.id DESC LIMIT 1
"""
FIRST = ("beyond 3 sigma", "8 on one side")
"""What a plant goes by until it chooses: every further rule signals more often for nothing (ChampWoodall1987)."""
KIND_WORDS = {
    "individuals": "individuals and moving range",
    "ewma": "weighted moving average",
    "cusum": "cumulative sums",
}
WITH_TREND = {"beyond 3 sigma, 6 trending": 198, "every rule": 78}
_STEP = (
    "One reading is off: repeat the check once with a fresh portion, clean chamber and rim, check again; see what "
    "happened that day."
)
_LEVEL = (
    "The level has moved while single readings are within: look at the other references and at another bottle, clean, "
    "check again. Adjust only under control, as found and as left, and look back at what was read since."
)
_TREND = (
    "It moves steadily: look at the other references and at the bottle's age, clean, and check more often until known."
)
TO_DO = {
    "beyond 3 sigma": _STEP,
    "2 of 3 beyond 2 sigma": _LEVEL,
    "4 of 5 beyond 1 sigma": _LEVEL,
    "8 on one side": _LEVEL,
    BEYOND_LIMITS: _LEVEL,
    "6 trending": _TREND,
}


_PRODUCT = (
    "Look at the instrument's references: where they are within, the product has changed or something in it "
    "disturbs the sensor. Read a fresh portion, on another instrument too."
)
_LOTS = (
    "Find what changed in the process: raw material, recipe, drying, the line; each lot is decided by its own reading."
)


def what_to_do(chart: Chart, rule: str) -> str:
    """What to do about a rule that speaks: of a reference, of a control product, or of lots as they are made."""
    if chart.product_id is None:
        return TO_DO[rule]
    return _PRODUCT if chart.instrument_id is not None else _LOTS


def plant_rule(site: Site) -> ChartRule:
    """What the plant's charts go by; before anybody chose, what isohume begins with (it has no number then)."""
    chosen = ChartRule.objects.filter(site=site, chart__isnull=True).select_related("by").order_by("-pk").first()
    return chosen or ChartRule(site=site, rules=list(FIRST))


def rule_of(chart: Chart) -> ChartRule:
    """What a chart goes by: its own choice, else the plant's."""
    with connection.cursor() as cursor:
        cursor.execute(RULE, [chart.pk, chart.site_id])
        row = cursor.fetchone()
    if row is None:
        return ChartRule(site=chart.site, rules=list(FIRST))
    *columns, rules, since, name = row
    names = "id", "site_id", "chart_id", "kind", "baseline", "weight", "h", "sigma", "reason", "by_id"
    given = dict(zip(names, columns, strict=True))
    rule = part_of(ChartRule, **given, rules=json.loads(rules), since=moment_of(since))
    rule.by = part_of(Person, id=rule.by_id, printed_name=name)
    return rule


def rule_words(rule: ChartRule) -> str:
    """The rule in a line."""
    if rule.kind == "individuals":
        what = ", ".join(rule.rules)
    elif rule.kind == "ewma":
        what = f"weight {rule.weight}, limits at 2.86 sigma of the average"
    else:
        what = f"k 0.5 sigma, h {rule.h} sigma"
    return f"{KIND_WORDS[rule.kind]}: {what}; limits from the first {rule.baseline} points of a phase"


def false_alarms(rules: ChartRules) -> str:
    """How often such a chart signals for nothing, in words."""
    length = _length(rules.kind, rules.rules, rules.weight, rules.h)
    return f"about once in {length} points" if length else "not known for these rules together"


@lru_cache(maxsize=64)
def _length(kind: str, names: tuple[str, ...], weight: float, h: float) -> int:
    if kind == "individuals" and "6 trending" in names:
        simulated = {2: WITH_TREND["beyond 3 sigma, 6 trending"], 5: WITH_TREND["every rule"]}
        return simulated.get(len(names), 0) if len(names) == 5 or "beyond 3 sigma" in names else 0
    if kind == "individuals" and not names:
        return 0
    return round(average_run_length(ChartRules(kind=kind, rules=names, weight=weight, h=h)))


def signal_words(signal: Signal) -> str:
    """What a rule saw, without when."""
    count = signal.index - signal.first + 1
    if signal.rule == "6 trending":
        return f"{count} points in a row {'rise' if signal.side > 0 else 'fall'}"
    side = "high" if signal.side > 0 else "low"
    return f"{signal.rule}, {side}" if count == 1 else f"{signal.rule}, {side}, over {count} points"


def how(rules: ChartRules) -> dict[str, Any]:
    """How the limits were found."""
    formula = {
        "individuals": "limits = mean ± 3 · mean moving range / 1.128; range limit = 3.267 · mean moving range",
        "ewma": "z = λ x + (1 − λ) z before; limits = mean ± L · sigma · √(λ/(2 − λ) · (1 − (1 − λ)²ⁱ)), i from 1 on",
        "cusum": "C⁺ = max(0, C⁺ before + x − mean − k · sigma), C⁻ likewise; the larger is drawn; limits ± h · sigma",
    }[rules.kind]
    source = {
        "individuals": "NISTHandbook, 6.3.2.2; ISO7870-2; WesternElectric1956; Nelson1984",
        "ewma": "NISTHandbook, 6.3.2.4; ISO7870-6; LucasSaccucci1990",
        "cusum": "NISTHandbook, 6.3.2.3; ISO7870-4; LucasCrosier1982",
    }[rules.kind]
    return {
        "formula": formula,
        "inputs": [
            ("Mean and sigma from", f"the first {rules.baseline} points of each phase"),
            ("Signals for nothing", false_alarms(rules), "mean and sigma known, readings independent and normal"),
        ],
        "range": "readings a day apart or so; readings of one hour hang together and signal too often",
        "depends": "the baseline: limits from fewer than 20 points are provisional",
        "source": source,
    }
