"""What the plant's products usually read, one value a lot: the yardstick of the plausibility hint."""

from __future__ import annotations

from collections import defaultdict

from isohume.bench.reading.plausible import History, judge_plausible
from isohume.outlets.site.bench.models import Lot, Run, Sample
from isohume.outlets.site.people.models import Site

LATEST_RUNS = 1200
LONGEST_HINT = 300


class Known:
    """What the plant's latest runs that count have read, looked up once."""

    def __init__(self, site: Site) -> None:
        of_lot = "portion__sample__lot_id", "portion__sample__lot__product__name", "portion__sample__component", "a_w"
        counting = Run.objects.filter(portion__sample__lot__site=site, void_reason="", corrected_by=None)
        self._runs = list(counting.order_by("-pk").values_list(*of_lot)[:LATEST_RUNS])
        self._without: dict[int | None, dict[str, History]] = {}

    def histories(self, but: Lot | None = None) -> dict[str, History]:
        """The history of every product, a product's components apart.

        but: a lot that is not its own yardstick.
        """
        left_out = but.pk if but is not None else None
        if left_out not in self._without:
            self._without[left_out] = self._of_products(left_out)
        return self._without[left_out]

    def _of_products(self, left_out: int | None) -> dict[str, History]:
        by_lot: dict[str, dict[int, list[float]]] = defaultdict(lambda: defaultdict(list))
        for lot, product, component, a_w in self._runs:
            if lot != left_out:
                by_lot[named(product, component)][lot].append(float(a_w))
        return {
            name: History.of(sum(values) / len(values) for values in lots.values()) for name, lots in by_lot.items()
        }


def named(product: str, component: str) -> str:
    """A product, with the component where one is named."""
    return f"{product} ({component})" if component else product


def plausibility(sample: Sample, a_w: str, known: Known | None = None) -> str:
    """The hint for a value of a sample, one line; empty where there is nothing to look at.

    known: the plant's history, where it was looked up already.
    """
    lot = sample.lot
    found = (known or Known(lot.site)).histories(but=lot)
    hint = judge_plausible(a_w, named(lot.product.name, sample.component), found).hint
    return hint if len(hint) <= LONGEST_HINT else hint[: LONGEST_HINT - 1].rstrip() + "…"
