"""What the plant's products usually read, one value a lot: the yardstick of the plausibility hint."""

from __future__ import annotations

from collections import defaultdict

from isohume.bench.reading.plausible import History, judge_plausible
from isohume.outlets.site.bench.models import Lot, Run, Sample
from isohume.outlets.site.people.models import Site

LATEST_RUNS = 1200
LONGEST_HINT = 300


def histories(site: Site, but: Lot | None = None) -> dict[str, History]:
    """The history of every product of a plant, from its latest runs that count; a product's components apart.

    but: a lot that is not its own yardstick.
    """
    runs = (
        Run.objects.filter(portion__sample__lot__site=site, void_reason="", corrected_by=None)
        .order_by("-pk")
        .values_list(
            "portion__sample__lot_id", "portion__sample__lot__product__name", "portion__sample__component", "a_w"
        )[:LATEST_RUNS]
    )
    by_lot: dict[str, dict[int, list[float]]] = defaultdict(lambda: defaultdict(list))
    for lot, product, component, a_w in runs:
        if but is None or lot != but.pk:
            by_lot[named(product, component)][lot].append(float(a_w))
    return {name: History.of(sum(values) / len(values) for values in lots.values()) for name, lots in by_lot.items()}


def named(product: str, component: str) -> str:
    """A product, with the component where one is named."""
    return f"{product} ({component})" if component else product


def plausibility(sample: Sample, a_w: str) -> str:
    """The hint for a value of a sample, one line; empty where there is nothing to look at."""
    lot = sample.lot
    return hint(sample, a_w, histories(lot.site, lot))


def hint(sample: Sample, a_w: str, known: dict[str, History]) -> str:
    """The same with the histories at hand."""
    found = judge_plausible(a_w, named(sample.lot.product.name, sample.component), known).hint
    return found if len(found) <= LONGEST_HINT else found[: LONGEST_HINT - 1].rstrip() + "…"
