"""The questions asked of lots and deviations, each with as few statements as a list of fifty rows allows."""

from __future__ import annotations

import json
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any

from django.db import connection
from django.db.models import OuterRef, Q, QuerySet, Subquery

from isohume.outlets.site.bench.models import Lot
from isohume.outlets.site.config.keys import read_key
from isohume.outlets.site.lots.models import Deviation, LotRecord
from isohume.outlets.site.lots.shapes import STATES, shape_of_verdict
from isohume.outlets.site.people.models import Site
from isohume.outlets.site.register.models import Product

ROWS = 50
LOT_ROWS = f"""
    SELECT l.id, l.code, p.name, l.state, l.received_at, r.record, r.verdict, r.disposition, r.probability,
        (SELECT json_group_array(json_array(id, name)) FROM
            (SELECT id, name FROM {Product._meta.db_table} WHERE site_id = %s ORDER BY name))
    FROM {Lot._meta.db_table} AS l
    JOIN {Product._meta.db_table} AS p ON p.id = l.product_id
    LEFT JOIN {LotRecord._meta.db_table} AS r
        ON r.id = (SELECT max(id) FROM {LotRecord._meta.db_table} WHERE lot_id = l.id)
    WHERE {{where}} ORDER BY l.id DESC LIMIT %s"""


@dataclass(frozen=True, slots=True)
class LotRow:
    """One lot as the list shows it."""

    pk: int
    code: str
    product: str
    state: str
    shape: str
    verdict: str
    verdict_shape: str
    record: str
    probability: float | None
    age: str


@dataclass(frozen=True, slots=True)
class LotList:
    """Fifty lots, where the next fifty begin, and the plant's products for a choice."""

    rows: list[LotRow]
    following: int | None
    products: list[tuple[int, str]]


def lots_of(
    site: Site, now: datetime, state: str = "", product: str = "", text: str = "", before: int | None = None
) -> LotList:
    """Fifty lots of a plant, the last entered first; one statement.

    state, product: only these; text: only codes that hold it. before: only lots entered before this one.
    """
    where, values = ["l.site_id = %s"], [site.pk]
    for condition, value, asked in (
        ("l.state = %s", state, state),
        ("l.product_id = %s", read_key(product), read_key(product) is not None),
        ("instr(l.key, %s) > 0", text.strip().casefold(), text.strip()),
        ("l.id < %s", before, before is not None),
    ):
        if asked:
            where.append(condition)
            values.append(value)
    # plain SQL: this list is what a plant looks at most, and the last record of each lot joins by its index
    with connection.cursor() as cursor:
        cursor.execute(LOT_ROWS.format(where=" AND ".join(where)), [site.pk, *values, ROWS + 1])
        rows = cursor.fetchall()
    following = rows[ROWS - 1][0] if len(rows) > ROWS else None
    products = [tuple(pair) for pair in json.loads(rows[0][-1])] if rows else products_of(site)
    return LotList([_row(row, now) for row in rows[:ROWS]], following, products)


def _row(row: tuple[Any, ...], now: datetime) -> LotRow:
    pk, code, product, state, received_at, record, verdict, disposition, probability, _ = row
    verdict = verdict or "not judged"
    shape = shape_of_verdict(verdict, disposition or "", state)
    age = age_in_words(received_at.replace(tzinfo=UTC), now)
    return LotRow(pk, code, product, state, STATES[state], verdict, shape, record or "", probability, age)


def age_in_words(since: datetime, now: datetime) -> str:
    """How long ago, in minutes, hours or days."""
    minutes = max(0, int((now - since).total_seconds() // 60))
    if minutes < 120:
        return f"{minutes} min"
    return f"{minutes // 60} h" if minutes < 48 * 60 else f"{minutes // (24 * 60)} d"


def products_of(site: Site) -> list[tuple[int, str]]:
    """The plant's products for a choice."""
    return list(site.products.order_by("name").values_list("pk", "name"))


def deviations_of(site: Site, open_only: bool = True) -> QuerySet[Deviation]:
    """The plant's deviations, newest first."""
    found = Deviation.objects.filter(site=site).select_related("lot", "owner", "opened_by", "failed_check__instrument")
    return (found.filter(closed_at=None) if open_only else found).order_by("-pk")


def may_wait(site: Site) -> QuerySet[LotRecord]:
    """The last record of every lot that is judged or on hold: what may wait for a signature, oldest first."""
    last = LotRecord.objects.filter(lot=OuterRef("lot")).order_by("-pk").values("pk")[:1]
    found = LotRecord.objects.filter(lot__site=site, lot__state__in=("judged", "on hold"), pk=Subquery(last))
    return found.select_related("lot__product", "lot__site", "opening_check__instrument").order_by("pk")


def related_deviations(lot: Lot) -> QuerySet[Deviation]:
    """Every deviation of a lot or of its runs, open ones first."""
    found = Deviation.objects.filter(Q(lot=lot) | Q(run__portion__sample__lot=lot)).distinct()
    return found.select_related("owner", "opened_by", "closed_by").order_by("closed_at", "pk")
