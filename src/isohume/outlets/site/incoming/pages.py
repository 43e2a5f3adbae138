"""What the pages of supplier lots say: the answer of one lot, and the trend of one material."""

from __future__ import annotations

import math
import statistics
from collections.abc import Sequence
from dataclasses import dataclass

from isohume.bench.decision.supplier_lot import on_basis
from isohume.bench.reading.basis_typed import basis_slip
from isohume.bench.reading.plausible import History
from isohume.outlets.site.incoming.figures import as_basis, of_percent
from isohume.outlets.site.incoming.judged import (
    Judged,
    certificate_moisture,
    certificate_words,
    judged,
    our_moisture,
)
from isohume.outlets.site.incoming.models import SupplierDetermination, SupplierLot, SupplierMaterial

STATE_SHAPES = {"waits": "wait", "accepted": "pass", "on hold": "hold", "rejected": "fail"}
LEAST_FOR_TREND = 3
LATEST_LOTS = 60


@dataclass(frozen=True, slots=True)
class LotLine:
    """One lot as a list shows it."""

    lot: SupplierLot
    judged: Judged
    state_shape: str

    @property
    def differences(self) -> list[tuple[str, str, str, str]]:
        """Each quantity: its name, the difference, how it compares, the shape of that word."""
        return [(one.name, one.difference or "none", one.words, one.shape) for one in self.judged.quantities]


@dataclass(frozen=True, slots=True)
class Trend:
    """The mean difference of a quantity over the lots that could be compared, ours less the certificate's."""

    name: str
    words: str
    shape: str


def last_of(lot: SupplierLot) -> SupplierDetermination | None:
    """The determination that speaks for a lot; uses what was prefetched."""
    return max(lot.determinations.all(), key=lambda one: one.pk, default=None)


def lines_of(lots: Sequence[SupplierLot]) -> list[LotLine]:
    """Lots for a list."""
    return [LotLine(lot, judged(lot, last_of(lot)), STATE_SHAPES[lot.state]) for lot in lots]


def typed_hint(lot: SupplierLot, found: SupplierDetermination | None) -> str:
    """Whether a moisture typed for this lot looks like one on the other basis, by what earlier lots held here."""
    if found is None or not found.moisture:
        return ""
    others = SupplierLot.objects.filter(site=lot.site_id, material__key=lot.material.key).exclude(pk=lot.pk)
    moistures = [
        float(on_basis(*own, "wet").value)
        for other in others.order_by("-pk").prefetch_related("determinations")[:LATEST_LOTS]
        if (last := last_of(other)) is not None and (own := our_moisture(last)) is not None
    ]
    typed = of_percent(found.moisture, "").value
    return basis_slip(typed, as_basis(found.basis), History.of(moistures) if moistures else None)


def answer_of(lot: SupplierLot, said: Judged) -> tuple[str, str]:
    """The answer in words, and its shape."""
    if lot.state in ("accepted", "rejected"):
        return ("Yes: accepted" if lot.state == "accepted" else "No: rejected"), STATE_SHAPES[lot.state]
    if lot.state == "on hold":
        return ("No: out of limits, on hold" if said.beyond else "No: on hold"), "hold"
    if not said.quantities:
        return "Not yet: it waits for our determination", "wait"
    if said.differing:
        return "Not yet: it differs from its certificate, and waits for a decision", "hold"
    inside = all(one.inside is None or one.inside.words == "inside the limit" for one in said.quantities)
    if any(one.words == "not judged" or one.compared is None for one in said.quantities) or not inside:
        return "Not yet: look at the reasons, then decide", "hold"
    return "Not yet: it agrees with its certificate, and waits for a decision", "wait"


def certificate_facts(lot: SupplierLot) -> list[tuple[str, str]]:
    """What the certificate states."""
    at = f" at {lot.certificate_temperature_c} °C" if lot.certificate_temperature_c else ""
    u = f" (u {lot.certificate_u_a_w})" if lot.certificate_u_a_w else ""
    facts = [("Certificate", lot.certificate or "not named"), ("Moisture", certificate_words(lot))]
    facts.append(("a_w", f"{lot.certificate_a_w}{u}{at}" if lot.certificate_a_w else "not stated"))
    stated = certificate_moisture(lot)
    if stated is not None and stated[0].u is None:
        facts.append(("Uncertainty of the moisture", "none is stated"))
    return facts


def limits_words(material: SupplierMaterial) -> str:
    """What a material may be at most."""
    parts = []
    if material.moisture_max:
        parts.append(f"moisture at most {material.moisture_max} % {material.moisture_basis} basis")
    if material.a_w_max:
        parts.append(f"a_w at most {material.a_w_max} at {material.temperature_c} °C")
    return "; ".join(parts)


def trends_of(lines: Sequence[LotLine]) -> list[Trend]:
    """Whether a supplier's certificates are off on average, in words."""
    return [found for name in ("moisture", "a_w") if (found := _trend(name, lines)) is not None]


def _trend(name: str, lines: Sequence[LotLine]) -> Trend | None:
    compared = [
        one.compared.difference
        for line in lines
        for one in line.judged.quantities
        if one.name == name and one.compared is not None
    ]
    if not compared:
        return None
    scale, unit, places = (100.0, " % wet basis", 2) if name == "moisture" else (1.0, "", 3)
    mean = scale * statistics.fmean(compared)
    words = f"ours less the certificate's: {mean:+.{places}f}{unit} on average of {len(compared)}"
    if len(compared) < LEAST_FOR_TREND:
        return Trend(name, f"{words}; too few to tell a trend", "unknown")
    from isohume.foundation.metrology.student import student_quantile

    s = scale * statistics.stdev(compared)
    half = student_quantile(0.975, len(compared) - 1) * s / math.sqrt(len(compared))
    off = abs(mean) > half
    said = "the certificates are off on average" if off else "no offset is shown"
    return Trend(
        name, f"{words}, 95 % interval {mean - half:+.{places}f} to {mean + half:+.{places}f}: {said}",
        "hold" if off else "pass",
    )  # fmt: skip
