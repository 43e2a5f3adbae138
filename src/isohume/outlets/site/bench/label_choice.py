"""Which labels may be printed: cups and samples of a lot, one sample, one cup, or the bottles in use."""

from __future__ import annotations

from dataclasses import dataclass

from isohume.foundation.quantity.errors import InputError
from isohume.outlets.site.bench.models import Lot, Portion, Sample
from isohume.outlets.site.people.models import Site
from isohume.outlets.site.register.models import Bottle, Instrument

CUP, SAMPLE, BOTTLE, INSTRUMENT = "iso:p:", "iso:s:", "iso:b:", "iso:i:"
MOST = 400


@dataclass(frozen=True, slots=True)
class Choice:
    """One label that may be printed."""

    code: str
    title: str
    lines: tuple[str, ...]

    @property
    def argument(self) -> dict[str, object]:
        """As the job that sets the labels takes it."""
        return {"code": self.code, "title": self.title, "lines": list(self.lines)}


def of_lot(lot: Lot) -> list[Choice]:
    """Every sample of a lot followed by its cups."""
    samples = lot.samples.prefetch_related("portions").order_by("pk")
    return [label for sample in samples for label in of_sample(sample, lot)]


def of_sample(sample: Sample, lot: Lot) -> list[Choice]:
    """A sample and its cups; discarded cups need no label."""
    cups = sorted(sample.portions.all(), key=lambda cup: cup.pk)
    return [_sample(sample, lot), *(_cup(cup, sample, lot) for cup in cups if not cup.discarded_reason)]


def of_cup(cup: Portion) -> list[Choice]:
    """One cup."""
    return [_cup(cup, cup.sample, cup.sample.lot)]


def of_bench(site: Site) -> list[Choice]:
    """Bottles in use and instruments."""
    bottles = Bottle.objects.filter(solution_lot__site=site, discarded_at=None).select_related("solution_lot")
    instruments = Instrument.objects.filter(site=site, in_use=True).order_by("name")
    return [
        *(Choice(f"{INSTRUMENT}{one.pk}", one.name, (f"serial {one.serial}",)) for one in instruments),
        *(_bottle(bottle) for bottle in bottles.order_by("pk")[:MOST]),
    ]


def chosen(choices: list[Choice], codes: list[str]) -> list[Choice]:
    """Those that were ticked."""
    wanted = set(codes)
    found = [choice for choice in choices if choice.code in wanted]
    if not found:
        raise InputError("codes", "nothing", "at least one label")
    return found


def _sample(sample: Sample, lot: Lot) -> Choice:
    lines = [lot.product.name, sample.position, sample.component]
    return Choice(f"{SAMPLE}{sample.pk}", f"{lot.code} / {sample.code}", tuple(filter(None, lines)))


def _cup(cup: Portion, sample: Sample, lot: Lot) -> Choice:
    lines = [lot.product.name, sample.position, sample.component]
    return Choice(cup.scan_code, f"{lot.code} / {sample.code} / {cup.code}", tuple(filter(None, lines)))


def _bottle(bottle: Bottle) -> Choice:
    lot = bottle.solution_lot
    lines = (f"lot {lot.code}, bottle {bottle.code}", f"expires {lot.expires_on.isoformat()}")
    return Choice(f"{BOTTLE}{bottle.pk}", lot.name, lines)
