"""A day of plant C in its order: checks, powders, a delivery, cloves, judging and releasing, the week's review."""

from __future__ import annotations

from isohume.outlets.demo.cardamom_quay.bench_work import checks, cloves, powders
from isohume.outlets.demo.cardamom_quay.onion import delivered, determined
from isohume.outlets.demo.cardamom_quay.plant import Quay
from isohume.outlets.demo.live.days import Day, own_tasks, review_week
from isohume.outlets.demo.live.lots import judge, release


def lived(day: Day, quay: Quay) -> None:
    """Everything but the last day."""
    checks(day)
    lots = powders(day, quay)
    delivered(day, quay)
    if day.ends_a_week:
        lots += cloves(day, quay)
    judge(day, lots, day.at(13))
    determined(day)
    release(day, lots, day.at(15))
    if day.ends_a_week:
        review_week(day, day.at(16))
    own_tasks(day, day.at(17))
