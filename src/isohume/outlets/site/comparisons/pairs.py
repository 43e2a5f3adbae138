"""Readings of two instruments on the same samples of the plant: they count, and nobody still keys them again."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from typing import Any

from django.db.models import Exists, Max, OuterRef, Q, QuerySet

from isohume.foundation.quantity.errors import InputError
from isohume.foundation.quantity.typed import read_a_w, read_words
from isohume.outlets.site.adjustments.models import MOVES, ScaleChange
from isohume.outlets.site.bench.models import AT_REST, Run, SecondKeying
from isohume.outlets.site.checks.stated import Stated
from isohume.outlets.site.comparisons.tables import GivenTable
from isohume.outlets.site.config.upload import at_file
from isohume.outlets.site.people.models import Site
from isohume.outlets.site.register.models import Instrument, Product

HEADINGS = ("what", "first", "second")
MOST = 20_000


@dataclass(frozen=True, slots=True)
class Pair:
    """One material read by both. n_first, n_second: how many readings each value is the mean of."""

    what: str
    first: float
    second: float
    n_first: int = 1
    n_second: int = 1
    product: str = ""

    @property
    def difference(self) -> float:
        """First minus second."""
        return self.first - self.second

    @property
    def mean(self) -> float:
        """The middle of both."""
        return 0.5 * (self.first + self.second)


def settled_runs(site: Site, since: datetime, product: Product | None = None) -> QuerySet[Run]:
    """Runs that count, imported or keyed twice alike: a number that somebody has yet to key again is not shown."""
    alike = SecondKeying.objects.filter(run=OuterRef("pk"), agrees=True)
    counts = AT_REST & Q(void_reason="", corrected_by=None, read_at__gte=since)
    found = Run.objects.filter(counts, portion__sample__lot__site=site)
    found = found.filter(Q(imported__isnull=False) | ~Q(trace_sha256="") | Exists(alike))
    return found.filter(portion__sample__lot__product=product) if product else found


def not_too_many(rows: QuerySet[Any]) -> list[Any]:
    """The rows, or a refusal: leaving some out in silence would change the answer."""
    found = list(rows[: MOST + 1])
    if len(found) > MOST:
        raise InputError("days", f"more than {MOST} readings", f"fewer days: at most {MOST} readings are taken at once")
    return found


def pairs_of_site(
    site: Site, first: Instrument, second: Instrument, since: datetime, product: Product | None = None
) -> list[Pair]:
    """One pair a sample that both have read, the means of their readings as stated, in the order of receipt.

    Readings from before the last change of either instrument's scale say nothing of the instruments as they are.
    """
    columns = (
        "portion__sample_id", "instrument_id", "read_at", "a_w", "portion__sample__lot__code", "portion__sample__code",
        "portion__sample__lot__product__name",
    )  # fmt: skip
    both = (first, second)
    runs = settled_runs(site, on_this_scale(both, since), product).filter(instrument__in=both)
    stated = {instrument.pk: Stated(instrument.pk) for instrument in both}
    read: dict[int, dict[int, list[float]]] = defaultdict(lambda: defaultdict(list))
    names: dict[int, tuple[str, str]] = {}
    ordered = runs.order_by("portion__sample", "pk").values_list(*columns)
    for sample, instrument, at, a_w, lot, code, name in not_too_many(ordered):
        read[sample][instrument].append(stated[instrument].reading(float(a_w), at, 0).a_w)
        names[sample] = (f"{lot} / {code}", name)
    return [
        Pair(names[sample][0], _mean(a), _mean(b), len(a), len(b), names[sample][1])
        for sample, by in read.items()
        if (a := by.get(first.pk)) and (b := by.get(second.pk))
    ]


def on_this_scale(instruments: Sequence[Instrument], since: datetime) -> datetime:
    """The later of a moment and the last adjustment, service or correction of any of the instruments."""
    moved = ScaleChange.objects.filter(instrument__in=instruments, kind__in=MOVES).aggregate(last=Max("at"))["last"]
    return since if moved is None else max(since, moved)


def pairs_of_table(table: GivenTable) -> list[Pair]:
    """Pairs from a table with the columns what, first, second.

    Raises: InputError at the field `file`.
    """
    found = []
    for row in table.rows(HEADINGS):
        try:
            what = read_words(row.get("what"), "what", 120) or f"row {row.number}"
            first, second = (float(read_a_w(row.get(name), name)) for name in ("first", "second"))
        except InputError as error:
            raise at_file(error.at(row=row.number)) from None
        found.append(Pair(what, first, second))
    return found


def as_rows(pairs: Iterable[Pair]) -> list[list[str]]:
    """Pairs as they are kept: text, so that a stored number is the number that was compared."""
    return [[p.what, _text(p.first), _text(p.second), str(p.n_first), str(p.n_second)] for p in pairs]


def from_rows(rows: Iterable[list[str]]) -> list[Pair]:
    """Pairs as they were kept."""
    return [Pair(what, float(a), float(b), int(n), int(m)) for what, a, b, n, m in rows]


def _text(value: float) -> str:
    return f"{Decimal(repr(round(value, 6))).normalize():f}"


def _mean(values: list[float]) -> float:
    return sum(values) / len(values)
