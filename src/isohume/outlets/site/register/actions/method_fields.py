"""What a version of a method asks, as typed; a first version and a later one are read alike."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from datetime import datetime
from decimal import Decimal

from isohume.bench.reading.check_file import BENCH_HIGH_C, BENCH_LOW_C
from isohume.bench.reading.settling.criterion import LARGEST_CHANGE, LONGEST_WINDOW_S
from isohume.bench.record.lot_file import LARGEST_MISMATCH_K, LARGEST_TOLERANCE_K
from isohume.foundation.quantity.errors import InputError
from isohume.foundation.quantity.typed import read_temperature_c, read_words
from isohume.outlets.site.register.actions.fields import needed_code, read_number, read_whole, refuse_taken
from isohume.outlets.site.register.models import Method, MethodVersion

LONGEST_INTERVAL_H = 744
MOST_PORTIONS = 10


@dataclass(frozen=True)
class Asks:
    """What a method asks of temperatures, times and portions: every field as typed."""

    version: str = ""
    document: str = ""
    temperature_c: str = "25.0"
    temperature_tolerance_c: str = "0.5"
    mismatch_limit_c: str = ""
    check_interval_h: str = "24"
    equilibrium_criterion: str = ""
    settled_change: str = ""
    settled_window_s: str = ""
    estimates_validated: str = ""
    early_verdicts: str = ""
    portions: str = "2"
    open_limit_min: str = "10"
    lidded_limit_h: str = "4"
    film_limit_h: str = "48"

    @classmethod
    def of(cls, typed: dict[str, str]) -> Asks:
        """From the fields of a form; what is not there starts as the class says."""
        return cls(**{key: typed[key] for key in cls.__dataclass_fields__ if key in typed})

    def as_typed(self) -> dict[str, str]:
        """Every field as typed, for the trail."""
        return {key: str(value) for key, value in asdict(self).items()}


def make_version(method: Method, asks: Asks, since: datetime) -> MethodVersion:
    """Another version of the method, in force since a moment. Refuses a version number that it has already."""
    version = needed_code(asks.version, "version", 20, "the version of the method's document, such as 3")
    refuse_taken(method.versions.all(), "version", version, "version", f"of {method.name}")
    mismatch = asks.mismatch_limit_c
    change, window_s = _criterion(asks.settled_change, asks.settled_window_s)
    return MethodVersion.objects.create(
        method=method,
        version=version,
        document=read_words(asks.document, "document", 200),
        temperature_c=f"{read_temperature_c(asks.temperature_c, low=BENCH_LOW_C, high=BENCH_HIGH_C):f}",
        temperature_tolerance_c=_kelvin(asks.temperature_tolerance_c, "temperature_tolerance_c", LARGEST_TOLERANCE_K),
        mismatch_limit_c=_kelvin(mismatch, "mismatch_limit_c", LARGEST_MISMATCH_K) if mismatch.strip() else "",
        check_interval_h=_interval(asks.check_interval_h),
        equilibrium_criterion=read_words(asks.equilibrium_criterion, "equilibrium_criterion", 200),
        settled_change=change,
        settled_window_s=window_s,
        estimates_validated=read_words(asks.estimates_validated, "estimates_validated", 300),
        early_verdicts=_yes_or_no(asks.early_verdicts, "early_verdicts"),
        portions=read_whole(asks.portions, "portions", 1, MOST_PORTIONS, "portions"),
        open_limit_min=read_whole(asks.open_limit_min, "open_limit_min", 1, 240, "minutes"),
        lidded_limit_h=read_whole(asks.lidded_limit_h, "lidded_limit_h", 1, 72, "hours"),
        film_limit_h=read_whole(asks.film_limit_h, "film_limit_h", 1, LONGEST_INTERVAL_H, "hours"),
        since=since,
    )


def _criterion(change: str, window_s: str) -> tuple[str, str]:
    """Both, or neither: a change without its window says nothing of a trace."""
    if not change.strip() and not window_s.strip():
        return "", ""
    words = f"a change in a_w above 0 and at most {LARGEST_CHANGE}, such as 0.0005; with its window"
    read_change = read_number(change, "settled_change", Decimal("0.00001"), LARGEST_CHANGE, words)
    allowed = f"seconds, 1 to {LONGEST_WINDOW_S}, such as 120; with its change"
    return read_change, read_number(window_s, "settled_window_s", Decimal(1), LONGEST_WINDOW_S, allowed)


def _yes_or_no(text: str, field: str) -> bool:
    """Blank and False are no: off by default, and so is a version carried over."""
    answers = {"": False, "no": False, "False": False, "yes": True, "True": True}
    if text not in answers:
        raise InputError(field, text, "yes or no")
    return answers[text]


def _kelvin(text: str, field: str, most: int) -> str:
    return read_number(text, field, Decimal(0), Decimal(most), f"kelvin, zero or more and at most {most}")


def _interval(text: str) -> str:
    allowed = f"hours, above 0 and at most {LONGEST_INTERVAL_H}"
    return read_number(text, "check_interval_h", Decimal("0.1"), Decimal(LONGEST_INTERVAL_H), allowed)
