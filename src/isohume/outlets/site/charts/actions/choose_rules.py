"""Choose what charts go by: for the plant, or for one chart; another version, the old one stays."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

from isohume.foundation.metrology.charts_by_point import KINDS
from isohume.foundation.metrology.run_rules import RULES
from isohume.foundation.quantity.errors import InputError
from isohume.outlets.site.charts.models import CUSUM_HS, SIGMAS, Chart, ChartRule
from isohume.outlets.site.charts.rules import plant_rule, rule_of, rule_words
from isohume.outlets.site.ledger.actions import Action, By, Done
from isohume.outlets.site.people.models import Site
from isohume.outlets.site.people.roles import MANAGER
from isohume.outlets.site.register.actions.fields import needed_words, read_number, read_whole


@dataclass
class ChooseRules(Action[ChartRule]):
    """Numbers are kept as typed. chart: None for every chart of the plant that has no choice of its own."""

    name = "chart_rules_chosen"
    said = "Chose what control charts go by"
    roles = frozenset({MANAGER})

    at_site: Site
    chart: Chart | None
    kind: str = "individuals"
    rules: Iterable[str] = ()
    baseline: str = "20"
    weight: str = "0.2"
    h: str = "5"
    sigma: str = SIGMAS[0]
    reason: str = ""

    @property
    def site(self) -> Site:
        """The plant."""
        return self.at_site

    def change(self, by: By) -> Done[ChartRule]:
        """Keep it as the next version."""
        before = rule_of(self.chart) if self.chart else plant_rule(self.at_site)
        made = ChartRule(
            site=self.at_site,
            chart=self.chart,
            kind=_one_of(self.kind, "kind", KINDS),
            rules=self._rules(),
            baseline=read_whole(self.baseline, "baseline", 5, 200, "points"),
            weight=read_number(self.weight, "weight", Decimal("0.01"), Decimal(1), "a weight, 0.01 to 1"),
            h=_one_of(self.h, "h", CUSUM_HS),
            sigma=_one_of(self.sigma, "sigma", SIGMAS),
            reason=needed_words(
                self.reason, "reason", 300, "why these rules: what was missed, or signalled for nothing"
            ),
            since=by.at,
            by=by.person,
        )
        made.save()
        about = [self.chart.ref, self.chart.instrument.ref] if self.chart else []
        details = {"for": str(self.chart or self.at_site), "goes by": [rule_words(before), rule_words(made)]}
        return Done(made, made.ref, about, details, made.reason)

    def _rules(self) -> list[str]:
        chosen = [_one_of(name, "rules", tuple(RULES)) for name in self.rules]
        if not chosen:
            raise InputError("rules", "none", f"at least one of {', '.join(RULES)}")
        return [name for name in RULES if name in chosen]


def _one_of(value: str, field: str, allowed: tuple[str, ...]) -> str:
    if value not in allowed:
        raise InputError(field, value, f"one of {', '.join(allowed)}")
    return value
