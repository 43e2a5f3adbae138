"""What waits on the bench today for whoever signs in."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

from isohume.outlets.demo.live.bench import ZONE, LiveBench
from isohume.outlets.site.bench.actions.receive_lot import ReceiveLot
from isohume.outlets.site.bench.actions.receive_sample import ReceiveSample
from isohume.outlets.site.ledger.actions import By, perform
from isohume.outlets.site.ledger.writing import writing
from isohume.outlets.site.register.models import Product

LOTS = 2


def waiting(bench: LiveBench, product: Product, now: datetime, called: tuple[str, str], *, warm: bool) -> None:
    """Two lots in duplicate. called: how their codes begin, and the place they are from; warm: the second one is."""
    begins, place = called
    came = now.astimezone(UTC) - timedelta(minutes=25)
    with writing(came):
        for k in range(1, LOTS + 1):
            by = By(bench.people["analyst"], came + timedelta(minutes=2 * k))
            code = f"{begins}-{now.astimezone(ZoneInfo(ZONE)):%m%d}-today-{k}"
            lot = perform(ReceiveLot(product, code, received_at=by.at.isoformat()), by)
            temperature = "31.0" if warm and k == LOTS else "24.8"
            perform(ReceiveSample(lot, place, "", "yes", temperature_c=temperature, portions=2), by)
