"""The warm-sample guard for a portion on an instrument, and what a run says of block and temperature."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from isohume.bench.reading.usable import NO_TEMPERATURE
from isohume.bench.reading.warm_sample import WarmSample, judge_warm_sample
from isohume.outlets.site.bench.limits import block_off, expected_a_w
from isohume.outlets.site.register.models import Instrument, MethodVersion, SpecificationVersion


@dataclass(frozen=True, slots=True)
class Guarded:
    """What stands around one reading: the temperatures as typed, and by whose rules they are judged."""

    specification: SpecificationVersion
    method: MethodVersion
    instrument: Instrument
    sample_temperature_c: str
    block_temperature_c: str
    override_reason: str = ""

    def warm(self, a_w: str = "") -> WarmSample | None:
        """The guard's answer; None where the sample's temperature is not known.

        a_w: the reading, once there is one: what was read wetter than expected is judged as what it is [text].
        """
        if not self.sample_temperature_c:
            return None
        limit = self.method.mismatch_limit_c
        return judge_warm_sample(
            float(self.sample_temperature_c),
            float(self.block_temperature_c or self.method.temperature_c),
            max(expected_a_w(self.specification), float(a_w or 0)),
            self.instrument.measures_surface_temperature,
            float(limit) if limit else None,
            self.override_reason,
        )

    def words(self, a_w: str = "") -> list[str]:
        """What is to be said of block and sample temperature."""
        warm, said = self.warm(a_w), []
        if self.block_temperature_c and block_off(Decimal(self.block_temperature_c), self.method):
            said.append(
                f"Block at {self.block_temperature_c} degC, outside the method's {self.method.temperature_c} +- "
                f"{self.method.temperature_tolerance_c} degC: the run is kept, but no record will count it."
            )
        said += list(warm.reasons) if warm else [NO_TEMPERATURE]
        return said
