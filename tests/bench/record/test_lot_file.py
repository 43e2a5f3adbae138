"""The lot file: read strictly, decimals as typed; unknown and contradictory keys are one clear line."""

from __future__ import annotations

from decimal import Decimal
from importlib.resources import files
from pathlib import Path

import pytest

from isohume.bench.record.lot_file import read_lot_file
from isohume.foundation.quantity import InputError

DAY = files("isohume.outlets.demo").joinpath("harrow_lane")


def day(tmp_path: Path) -> Path:
    """The demonstration day's input files."""
    for item in DAY.iterdir():
        (tmp_path / item.name).write_bytes(item.read_bytes())
    return tmp_path


def changed(tmp_path: Path, old: str, new: str, lot: str = "SB-0914-01.toml") -> Path:
    """The demonstration lot with one text replaced."""
    path = day(tmp_path) / lot
    text = path.read_text(encoding="utf-8")
    assert old in text
    path.write_text(text.replace(old, new, 1), encoding="utf-8")
    return path


def test_the_demonstration_lots_are_complete_examples(tmp_path: Path) -> None:
    lots = [read_lot_file(path) for path in sorted(day(tmp_path).glob("*.toml"))]
    assert len(lots) == 6
    assert {lot.site for lot in lots} == {"Harrow Lane Oat Works"}


def test_decimals_are_kept_as_typed(tmp_path: Path) -> None:
    lot = read_lot_file(day(tmp_path) / "SB-0914-01.toml")
    assert lot.specification.rule.upper is not None
    assert str(lot.specification.rule.upper.value) == "0.650"
    assert lot.uncertainty.s_r == Decimal("0.0020")


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ("maximum = 0.650", "maximum = 65.0", "specification.maximum: read Decimal"),
        ("maximum = 0.650", "maximum = 0.650\nbelow = 0.650", "either maximum or below, not both"),
        ("maximum = 0.650", "maximum = 0.650\nminimum = 0.7", "below the maximum 0.650"),
        ("maximum = 0.650\n", "", "a minimum, a maximum or both"),
        ("maximum = 0.650", "maximum = nan", "finite"),
        ("maximum = 0.650", 'maximum = "0,650 a_w"', "specification.maximum"),
        ("maximum = 0.650", "maximun = 0.650", "did you mean 'maximum'"),
        ('kind = "quality"', 'kind = "important"', "safety or quality"),
        ('kind = "quality"', 'kind = "safety"\nallow_conditional = true', "releases only on pass"),
        ("guard = 1.64", "guard = -1", "zero or more"),
        ("temperature_c = 25.0\nmaximum", "maximum", "specification.temperature_c: read 'nothing'"),
        ("temperature_c = 25.0\nmaximum", "temperature_c = 20.0\nmaximum", "not restated at another temperature"),
        ("temperature_c = 25.0\nmaximum", "temperature_c = 77\nmaximum", "degF meant (25.0 degC)"),
        ('id = "SB-0914-01"', "id = 12", "lot.id: read 12; allowed: a non-empty text"),
        ("[instrument]", "[instrument_]", "a table [instrument]"),
        ("measures_surface_temperature = true", 'measures_surface_temperature = "yes"', "true or false"),
        ('file = "check-ow1-morning.csv"', 'file = "nowhere.csv"', "check.file: read 'nowhere.csv'"),
        ('file = "check-ow1-morning.csv"', 'file = "../secret.csv"', "inside the lot file's folder"),
        ('basis = "own data"', 'basis = "collaborative study"', "s_R in place of u_other"),
        ("s_r = 0.0020", "s_r = 2.0", "above 0 and below 1"),
        ("s_r = 0.0020\n", "", "uncertainty.s_r: read 'nothing'"),
        ("produced_on = 2026-09-14", 'produced_on = "14/09/2026"', "a date in ISO 8601"),
        ("received_at = 2026-09-15T07:40:00+01:00", 'received_at = "early"', "lot.received_at"),
        ("with_dry_g = 25.8461", "with_dry_g = 27.8461", "with_dry_g"),
        ('basis = "wet"', 'basis = "percent"', "wet or dry"),
        ("values = [5.62, 5.63]", "values = 5.62", "a list of pH values"),
        ('file = "SB-0914-01-readings.csv"', 'file = "SB-0914-01-readings.csv"\ncolumns = 3', "a table such as"),
        ("[lot]", "[lot", "valid TOML"),
        ('SB-0914-01"', 'SB\u20110914-01"', "write other dashes as -"),
        ('SB-0914-01"', 'SB-0914\u200b-01"', "lot.id"),
        ('SB-0914-01"', 'SB\u22120914-01"', "lot.id"),
        ("limit = 0.005", "limit = 0.5", "at most 0.02"),
        ("u_instrument = 0.0015", "u_instrument = 0.5", "at most 0.02"),
        ("temperature_tolerance_c = 0.5", "temperature_tolerance_c = 10", "at most 2"),
        ('closing.csv"\nlimit = 0.005', 'closing.csv"\nlimit = 0.02', "at most the opening check's 0.005"),
        ("expected_a_w = 0.632", 'expected_a_w = 0.632\ncomponents = ["base"]', "one of product.components: base"),
    ],
)
def test_refusals_name_the_key_the_value_and_what_is_allowed(tmp_path: Path, old: str, new: str, says: str) -> None:
    with pytest.raises(InputError) as refused:
        read_lot_file(changed(tmp_path, old, new))
    text = str(refused.value)
    assert says.replace("read Decimal", "read 65.0") in text
    assert text.startswith("SB-0914-01.toml: ")
    assert "\n" not in text


def test_other_encodings_and_huge_files_are_refused(tmp_path: Path) -> None:
    path = tmp_path / "lot.toml"
    path.write_bytes('[lot]\nid = "Müsli"'.encode("latin-1"))
    with pytest.raises(InputError, match="UTF-8"):
        read_lot_file(path)
    path.write_bytes(b"#" * 2_000_000)
    with pytest.raises(InputError, match="bytes"):
        read_lot_file(path)
    with pytest.raises(InputError, match="an existing TOML file"):
        read_lot_file(tmp_path / "nowhere.toml")
