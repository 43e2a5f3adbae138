"""What a specification and a method ask of a reading, read from the register's typed text."""

from __future__ import annotations

from datetime import datetime
from decimal import Decimal

from isohume.bench.reading.portion_clock import Clock, ClockLimits, judge_clock
from isohume.outlets.site.bench.models import Portion
from isohume.outlets.site.register.models import MethodVersion, SpecificationVersion


def expected_a_w(specification: SpecificationVersion) -> float:
    """What is expected before a reading exists; without an expected value the wetter limit is the careful guess."""
    return float(specification.expected_a_w or specification.upper or specification.lower)


def asks_temperature(method: MethodVersion) -> bool:
    """Whether the method states a mismatch limit, and so needs the sample's temperature with every reading."""
    return bool(method.mismatch_limit_c)


def block_off(block_temperature_c: Decimal, method: MethodVersion) -> bool:
    """Whether the block is outside the method's band."""
    return abs(block_temperature_c - Decimal(method.temperature_c)) > Decimal(method.temperature_tolerance_c)


def clock_limits(method: MethodVersion) -> ClockLimits:
    """How long a cup may wait under each cover."""
    return ClockLimits(method.open_limit_min, method.lidded_limit_h, method.film_limit_h)


def clock_of(portion: Portion, method: MethodVersion, at: datetime) -> Clock:
    """How long a cup has stood under its cover at a moment; a moment before the cover began counts as none."""
    return judge_clock(portion.cover, portion.covered_at, max(at, portion.covered_at), clock_limits(method))


def over_clock(portion: Portion, method: MethodVersion, at: datetime) -> str:
    """What to say of a cup that waited longer than the method allows; nothing where it did not."""
    clock = clock_of(portion, method, at)
    return f"Cup {portion.code}: {clock.words}. It may have dried or taken up water." if clock.over else ""
