"""The gate before a reading: may this instrument measure now, for this product, and how long still?"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal

from isohume.bench.assurance.standing import Standing, bracket_limits
from isohume.foundation.quantity.errors import InputError
from isohume.foundation.quantity.limits import Limit

_NO_GUARD = Decimal(0)


@dataclass(frozen=True, slots=True)
class Gate:
    """Whether an instrument may measure, why or why not, and how long its check still protects readings."""

    allowed: bool
    reasons: tuple[str, ...]
    hours_left: float


def may_measure_now(
    standing: Standing | None,
    moment: datetime,
    limits: tuple[Limit, ...] = (),
    guard_band: Decimal = _NO_GUARD,
    cleaned_at: datetime | None = None,
    told: datetime | None = None,
) -> Gate:
    """Whether an instrument may measure at a moment, by the standing its last check gave it.

        hours_left = until - moment, zero where the check protects nothing
    standing: the standing from the instrument's last check [text], None where there was no check.
    moment: the moment of measuring [time], with its offset; reasons tell times in its zone.
    limits: the limits of the product's specification [1]; none where only the instrument is asked about.
    guard_band: the guard band w the limits are judged with [1], zero or more.
    cleaned_at: the last cleaning or adjustment [time], None where there was none; a check must come after it.
    told: the moment of telling [time], where it is another than that of measuring; a time of another day has its day.
    Returns: the Gate [text], allowed only where nothing stands against it, with every reason that does.
    Raises: InputError for a moment without an offset.
    Example: a check that ended at 06:00, asked at 07:00 -> not allowed, "ended at 06:00".
    Source: none (ISO17025, 6.4 and 7.7 ask for checks; when and in which range is the laboratory's own).
    """
    for field, time in (("moment", moment), ("cleaned_at", cleaned_at), ("told", told)):
        if time is not None and time.tzinfo is None:
            raise InputError(field, time.isoformat(), "a time with an offset")
    if standing is None:
        return Gate(False, ("No check yet today: check the instrument on two reference solutions first.",), 0.0)
    if against := _against_check(standing, moment, cleaned_at, told or moment):
        return Gate(False, against, 0.0)
    hours_left = (standing.until - moment).total_seconds() / 3600
    if limits:
        bracketing = bracket_limits(standing.covers_a_w, limits, guard_band)
        if not bracketing.bracketed:
            return Gate(False, tuple(_sentence(reason) for reason in bracketing.reasons), hours_left)
    return Gate(True, (_for_it(standing, moment),), hours_left)


def _against_check(
    standing: Standing, moment: datetime, cleaned_at: datetime | None, told: datetime
) -> tuple[str, ...]:
    """Every reason why the check protects no reading at the moment."""
    seen = told.astimezone(moment.tzinfo)
    of_check = f"The check of {said(standing.since, seen)}"
    found = []
    if not standing.may_measure:
        # The standing's own reasons say which solution failed, or that too few passed.
        found += [f"{of_check} does not let the instrument measure.", *standing.reasons]
    if moment < standing.since:
        found.append(f"{of_check} comes after the moment asked about, {said(moment, seen)}.")
    if moment > standing.until:
        found.append(f"{of_check} ended at {said(standing.until, seen)}: check again.")
    if cleaned_at is not None and standing.since < cleaned_at <= moment:
        found.append(f"The instrument was cleaned at {said(cleaned_at, seen)}, after its check: check it again.")
    return tuple(found)


def _for_it(standing: Standing, moment: datetime) -> str:
    covered = ""
    if standing.covers_a_w is not None:
        covered = f" and covers a_w {standing.covers_a_w[0]:.4f} to {standing.covers_a_w[1]:.4f}"
    return (
        f"The check of {said(standing.since, moment)} passed{covered}; "
        f"it protects readings until {said(standing.until, moment)}."
    )


def said(time: datetime, moment: datetime) -> str:
    """A time in the zone of `moment`: the hour alone on the same day, otherwise with the day.

    time: the time to tell [time].
    moment: the moment of telling [time].
    Returns: such as 06:05 or 2026-11-24 06:05 [text].
    Source: none.
    """
    local = time.astimezone(moment.tzinfo)
    return local.strftime("%H:%M" if local.date() == moment.date() else "%Y-%m-%d %H:%M")


def _sentence(text: str) -> str:
    return text[:1].upper() + text[1:]
