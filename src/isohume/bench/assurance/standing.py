"""What an instrument may measure at an hour, and why: range, until when, and about which limits."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from decimal import Decimal

from isohume.bench.assurance.check import Check, line_through
from isohume.foundation.quantity.errors import InputError
from isohume.foundation.quantity.limits import Limit

DEFAULT_CHECK_INTERVAL_H = 24.0


@dataclass(frozen=True, slots=True)
class Standing:
    """An instrument's standing from one check on: may it measure, in which range, from when until when."""

    may_measure: bool
    covers_a_w: tuple[float, float] | None
    since: datetime
    until: datetime
    closing_passed: bool | None
    reasons: tuple[str, ...]
    closing_at: datetime | None = None
    closing_covers: tuple[float, float] | None = None

    def brackets(self, moment: datetime) -> bool:
        """Whether a passed closing check on two references or more came after `moment`."""
        if not self.closing_passed or self.closing_at is None or self.closing_covers is None:
            return False
        return self.since <= moment <= self.closing_at

    def covers_time(self, moment: datetime) -> bool:
        """Whether the standing holds at `moment`."""
        return self.since <= moment <= self.until

    def as_json(self, read_at: tuple[datetime, ...] = ()) -> dict[str, object]:
        """The standing as the record keeps it, with whether the closing check brackets the readings of those times."""
        return {
            "may_measure": self.may_measure,
            "covers_a_w": None if self.covers_a_w is None else list(self.covers_a_w),
            "from": self.since.isoformat(),
            "until": self.until.isoformat(),
            "bracketed_by_closing_check": bool(read_at) and all(map(self.brackets, read_at)),
            "reasons": list(self.reasons),
        }


def standing(check: Check, closing: Check | None = None, interval_h: float = DEFAULT_CHECK_INTERVAL_H) -> Standing:
    """The standing of an instrument after a check, and a closing check where there is one.

    check: the opening check [text], with the time of its readings.
    closing: the closing check [text], or None where there was none.
    interval_h: how long a passed check protects readings [h], greater than zero.
    Returns: the Standing [text].
    Raises: InputError where the check has no times, or the closing check is not after the opening one.
    Source: ISO17025, 6.4 and 7.7 (the interval is the laboratory's own; 24 h is common practice, no source).
    """
    if not interval_h > 0:
        raise InputError("check_interval_h", interval_h, "hours, greater than zero")
    if not check.all_timed or check.last_read_at is None or check.first_read_at is None:
        raise InputError("read_at", None, "a time for every reading of the check")
    since, until = check.last_read_at, check.first_read_at + timedelta(hours=interval_h)
    reasons = [f"Check of {since.isoformat(timespec='minutes')}: {_passed(check)}"]
    may_measure = check.covers_a_w is not None and check.verdict == "pass" and check.steady
    if check.reasons:
        reasons.extend(check.reasons)
    elif check.covers_a_w is None:
        reasons.append("Fewer than two different reference solutions passed: no range is covered.")
    if closing is None:
        reasons.append("No closing check: a change after the opening check would show only at the next one.")
        return Standing(may_measure, check.covers_a_w, since, until, None, tuple(reasons))
    return _with_closing(check, closing, since, until, may_measure, reasons)


def _with_closing(
    check: Check, closing: Check, since: datetime, until: datetime, may_measure: bool, reasons: list[str]
) -> Standing:
    if not closing.all_timed:
        raise InputError("closing_check.read_at", None, "a time for every reading of the closing check")
    passed = closing.verdict == "pass" and closing.steady
    # a failed check that began before the opening one ended still condemns what was read under it
    compared = closing.first_read_at if passed else closing.last_read_at
    if closing.first_read_at is None or compared is None or compared < since:
        raise InputError("closing_check.read_at", compared, f"after the opening check at {since.isoformat()}")
    reasons.append(f"Closing check of {closing.first_read_at.isoformat(timespec='minutes')}: {_passed(closing)}")
    if not passed:
        reasons.extend(closing.reasons)
        reasons.append("Readings since the opening check are not protected.")
    covers = check.covers_a_w
    if passed and covers and closing.covers_a_w:
        covers = (max(covers[0], closing.covers_a_w[0]), min(covers[1], closing.covers_a_w[1]))
    elif passed and closing.covers_a_w is None:
        reasons.append("The closing check read fewer than two references: it brackets no readings.")
    return Standing(
        may_measure and passed, covers, since, until, passed, tuple(reasons), closing.first_read_at, closing.covers_a_w
    )


def _passed(check: Check) -> str:
    return "failed." if check.verdict != "pass" else "passed." if check.steady else "passed, but its readings scatter."


@dataclass(frozen=True, slots=True)
class Bracketing:
    """Whether the references that passed stand on both sides of every limit with its guard, and of the reading."""

    bracketed: bool
    u_widening: float
    reasons: tuple[str, ...]


def bracket_limits(covers: tuple[float, float] | None, limits: tuple[Limit, ...], guard_band: Decimal) -> Bracketing:
    """Whether passed references stand on both sides of each limit with its guard.

    covers: lowest and highest expected value that passed [1], None where fewer than two passed.
    limits: the limits of the specification [1].
    guard_band: the guard band w [1], zero or more.
    Returns: the Bracketing [text], with the reason "not bracketed above" or "not bracketed below".
    Source: none (common practice): references on both sides of the limit with its guard.
    """
    if covers is None:
        return Bracketing(False, 0.0, ("Not bracketed: fewer than two reference solutions passed.",))
    low, high = (Decimal(repr(c)) for c in covers)
    reasons = []
    for limit in limits:
        inner = limit.moved(guard_band).value
        lowest, highest = min(limit.value, inner), max(limit.value, inner)
        about = f"the limit {limit.value} with its guard ({float(lowest):.4g} to {float(highest):.4g})"
        if high < highest:
            reasons.append(
                f"not bracketed above: {about} needs a passed reference at or above {float(highest):.4g}; "
                f"the highest that passed is {covers[1]:.4f}."
            )
        if low > lowest:
            reasons.append(
                f"not bracketed below: {about} needs a passed reference at or below {float(lowest):.4g}; "
                f"the lowest that passed is {covers[0]:.4f}."
            )
    return Bracketing(not reasons, 0.0, tuple(reasons))


def bracket_value(value: Decimal, check: Check, covers: tuple[float, float], limits: tuple[Limit, ...]) -> Bracketing:
    """Whether a reading may be judged where it stands; beyond the outermost reference only on the safe side.

        u_widening^2 = u_line(y)^2 - u_line(edge)^2
    value: the determination [1].
    check: the check whose passed references carry the line [text].
    covers: lowest and highest expected value that passed [1].
    limits: the limits of the specification [1].
    Returns: the Bracketing [text] with the standard uncertainty to add for standing beyond the references [1].
    Source: none (the widening is the check line's own uncertainty in excess of that at the outermost reference).
    """
    y, (low, high) = float(value), covers
    if low <= y <= high:
        return Bracketing(True, 0.0, ())
    edge, side = (low, "below the lowest") if y < low else (high, "above the highest")
    if not all(limit.admits(value) for limit in limits):
        return Bracketing(
            False,
            0.0,
            (
                f"The reading {float(value):.6g} lies {side} passed reference {edge:.4f}, "
                "on the unsafe side of a limit: no statement is made there; check with a reference beyond it.",
            ),
        )
    line = line_through(check.within)
    if line is None:
        return Bracketing(
            False, 0.0, ("No line through passed references: the reading cannot be carried beyond them.",)
        )
    u_widening = max(line.predict_u(y) ** 2 - line.predict_u(edge) ** 2, 0.0) ** 0.5
    return Bracketing(
        True,
        u_widening,
        (
            f"The reading {float(value):.6g} lies {side} passed reference {edge:.4f}, on the safe side of the limit: "
            f"judged with u widened by {u_widening:.4f}.",
        ),
    )
