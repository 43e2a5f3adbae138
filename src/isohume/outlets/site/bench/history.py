"""What the plant's products usually read, one value a lot: the yardstick of the plausibility hint."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable

from django.db.models import QuerySet

from isohume.bench.reading.plausible import LEAST_LOTS, History, judge_plausible
from isohume.outlets.site.bench.models import AT_REST, Lot, Run, Sample
from isohume.outlets.site.incoming.models.history import UNVERIFIED
from isohume.outlets.site.incoming.queries import historic_values
from isohume.outlets.site.people.models import Site

LATEST_RUNS = 1200
LATEST_LOTS = 40  # of a product that the latest runs hardly know
LONGEST_HINT = 300
OF_LOT = "portion__sample__lot_id", "portion__sample__lot__product__name", "portion__sample__component", "a_w"
Row = tuple[int, str, str, str]
ByLot = dict[str, dict[int, list[float]]]


class Known:
    """What the plant's latest runs that count have read, looked up once.

    A product that is made seldom is looked for further back; where its own lots are too few still, past lots from
    spreadsheets help, and the hint says so.
    """

    def __init__(self, site: Site) -> None:
        self._site = site
        self._runs: list[Row] = list(_counting(site).order_by("-pk").values_list(*OF_LOT)[:LATEST_RUNS])
        self._runs += self._of_rare_products()
        self._past = self._historic()
        self._without: dict[int | None, dict[str, History]] = {}

    def histories(self, but: Lot | None = None) -> dict[str, History]:
        """The history of every product, a product's components apart.

        but: a lot that is not its own yardstick.
        """
        left_out = but.pk if but is not None else None
        if left_out not in self._without:
            self._without[left_out] = self._of_products(left_out)
        return self._without[left_out]

    def _of_rare_products(self) -> list[Row]:
        """Runs of the last lots of products that the latest runs of the plant hardly know."""
        if len(self._runs) < LATEST_RUNS:
            return []  # these are all runs there are
        lots: dict[str, set[int]] = defaultdict(set)
        for lot, product, _, _ in self._runs:
            lots[product].add(lot)
        seen = set().union(*lots.values())
        further: set[int] = set()
        for pk, name in self._site.products.values_list("pk", "name"):
            if len(lots[name]) < LEAST_LOTS:
                further.update(
                    Lot.objects.filter(product=pk).order_by("-pk").values_list("pk", flat=True)[:LATEST_LOTS]
                )
        found = _counting(self._site).filter(portion__sample__lot__in=further - seen)
        return list(found.order_by("-pk").values_list(*OF_LOT)) if further - seen else []

    def _historic(self) -> dict[str, list[float]]:
        """Past lots of products whose own lots are too few; one more is asked for, since a lot may be left out."""
        lots: dict[tuple[str, str], set[int]] = defaultdict(set)
        for lot, product, component, _ in self._runs:
            lots[product, component].add(lot)
        known = {product for product, _ in lots}
        short = {product for (product, _), those in lots.items() if len(those) <= LEAST_LOTS}
        short.update(name for name in self._site.products.values_list("name", flat=True) if name not in known)
        return historic_values(self._site, short) if short else {}

    def _of_products(self, left_out: int | None) -> dict[str, History]:
        own = _by_lot(row for row in self._runs if row[0] != left_out)
        values = {name: [sum(each) / len(each) for each in lots.values()] for name, lots in own.items()}
        histories = {}
        for name in {**values, **self._past}:
            mine, past = values.get(name, []), self._past.get(name, [])
            if len(mine) >= LEAST_LOTS or not past:
                histories[name] = History.of(mine) if mine else History.of(past, UNVERIFIED)
            else:
                label = f"{len(past)} of them {UNVERIFIED}" if mine else UNVERIFIED
                histories[name] = History.of([*mine, *past], label)
        return histories


def _counting(site: Site) -> QuerySet[Run]:
    """An estimate is no yardstick: it was taken before the product was at rest."""
    return Run.objects.filter(AT_REST, portion__sample__lot__site=site, void_reason="", corrected_by=None)


def _by_lot(runs: Iterable[Row]) -> ByLot:
    by_lot: ByLot = defaultdict(lambda: defaultdict(list))
    for lot, product, component, a_w in runs:
        by_lot[named(product, component)][lot].append(float(a_w))
    return by_lot


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
