"""A lot judged from its files: bracketing, budgets, routes and refusals, on plant A's figures."""

from __future__ import annotations

import math
from datetime import UTC, datetime
from pathlib import Path

import pytest

from isohume.bench.record.judge import JudgedLot, judge_lot
from isohume.bench.record.lot_file import read_lot_file
from isohume.foundation.quantity import InputError

NOW = datetime(2026, 9, 15, 18, 0, tzinfo=UTC)
LOW_CHECK = "MgCl2,,25.0,0.3285,2026-09-15T06:00Z\nMg(NO3)2,,25.0,0.5290,2026-09-15T06:05Z\n"
FULL_CHECK = LOW_CHECK + "NaCl,,25.0,0.7535,2026-09-15T06:10Z\n"
OWN = '[uncertainty]\nbasis = "own data"\nu_other = 0.0032\ns_r = 0.0020\nsource = "own"\n'


def lot_file(
    folder: Path,
    limits: str,
    portions: tuple[str, ...],
    *,
    check: str = FULL_CHECK,
    kind: str = "quality",
    uncertainty: str = OWN,
    more: str = "",
    expected: str = "0.4",
    surface: bool = True,
) -> Path:
    """A lot with one line a portion, read from 08:00 on; a portion may carry its own columns after the value."""
    (folder / "check.csv").write_text("solution,molality,temperature_c,a_w,read_at\n" + check, encoding="utf-8")
    header = "portion,a_w,read_at,sample_temperature_c,block_temperature_c,position,override_reason\n"
    rows = []
    for i, portion in enumerate(portions):
        a_w, _, rest = portion.partition(",")
        rows.append(f"P{i},{a_w},2026-09-15T08:{i:02d}Z,{rest}" if rest else f"P{i},{a_w},2026-09-15T08:{i:02d}Z,,,,")
    (folder / "readings.csv").write_text(header + "\n".join(rows) + "\n", encoding="utf-8")
    path = folder / "lot.toml"
    path.write_text(
        f"""[lot]
id = "L1"
[site]
name = "Harrow Lane Oat Works"
[product]
name = "Oat base"
expected_a_w = {expected}
[specification]
version = "1"
temperature_c = 25.0
kind = "{kind}"
source = "invented"
{limits}
[method]
name = "BM-12"
version = "3"
temperature_c = 25.0
[instrument]
id = "OW-1"
principle = "dew-point measurement"
measures_surface_temperature = {str(surface).lower()}
[check]
file = "check.csv"
[readings]
file = "readings.csv"
{uncertainty}
{more}
""",
        encoding="utf-8",
    )
    return path


def judged(*arguments: object, **options: object) -> JudgedLot:
    """The lot of that file, judged."""
    return judge_lot(read_lot_file(lot_file(*arguments, **options)), NOW)  # type: ignore[arg-type]


def test_a_lot_within_its_acceptance_limit_passes(tmp_path: Path) -> None:
    found = judged(tmp_path, "maximum = 0.650", ("0.6315", "0.6331"))
    assert (found.decision.verdict, found.decision.disposition) == ("pass", "release")
    assert float(found.decision.value or 0) == 0.6323
    assert found.decision.u == pytest.approx(math.sqrt(0.0032**2 + 0.002**2 / 2), rel=1e-12)
    assert found.decision.sampling_included is False


def test_a_specification_above_the_references_is_refused(tmp_path: Path) -> None:
    """Plant A: the specification needs 0.65, only references at 0.33 and 0.53 have passed."""
    found = judged(tmp_path, "maximum = 0.650", ("0.6315", "0.6331"), check=LOW_CHECK)
    assert (found.decision.verdict, found.decision.disposition) == ("no verdict", "hold")
    assert "not bracketed above" in " ".join(found.decision.reasons)


def test_a_dry_product_under_its_maximum_is_judged_with_a_wider_u(tmp_path: Path) -> None:
    found = judged(tmp_path, "maximum = 0.35", ("0.1204", "0.1189"), check=LOW_CHECK)
    assert found.decision.verdict == "pass"
    assert found.budget is not None
    assert [c.name for c in found.budget.components][-1] == "reading beyond the outermost reference"
    assert found.decision.u is not None
    assert found.decision.u > math.sqrt(0.0032**2 + 0.002**2 / 2) + 0.0005
    assert "widened" in " ".join(found.decision.reasons)


def test_the_starter_budget_allows_it_too(tmp_path: Path) -> None:
    found = judged(tmp_path, "maximum = 0.35", ("0.12",), check=LOW_CHECK, uncertainty="")
    assert found.decision.verdict == "pass"


def test_the_same_with_a_minimum_is_refused(tmp_path: Path) -> None:
    found = judged(tmp_path, "maximum = 0.35\nminimum = 0.10", ("0.1204", "0.1189"), check=LOW_CHECK)
    assert found.decision.verdict == "no verdict"
    assert "not bracketed below" in " ".join(found.decision.reasons)


def test_the_starter_budget_is_labelled_and_wide(tmp_path: Path) -> None:
    """With u = 0.009, 0.842 against 0.85 conforms with probability 0.81, not 0.977 (job: Phi(0.008/0.009) = 0.813)."""
    check = FULL_CHECK + "KCl,,25.0,0.8435,2026-09-15T06:15Z\nK2SO4,,25.0,0.9730,2026-09-15T06:20Z\n"
    found = judged(tmp_path, "maximum = 0.85", ("0.842",), check=check, kind="safety", uncertainty="", expected="0.84")
    assert found.decision.probability_of_conformity == pytest.approx(0.813, abs=0.0005)
    assert found.decision.disposition == "hold"
    assert found.budget is not None
    assert "starter" in found.budget.label


def test_without_a_known_s_r_the_worst_portion_decides(tmp_path: Path) -> None:
    found = judged(tmp_path, "maximum = 0.650", ("0.600", "0.612"), uncertainty="")
    assert (found.decision.route, float(found.decision.value or 0)) == ("worst of 2", 0.612)
    both = judged(tmp_path, "maximum = 0.650\nminimum = 0.4", ("0.45", "0.500"), uncertainty="")
    assert float(both.decision.value or 0) == 0.45


def test_an_instrument_specification_alone_gives_no_verdict(tmp_path: Path) -> None:
    leaflet = '[uncertainty]\nbasis = "instrument specification"\nu_other = 0.003\nsource = "leaflet"\n'
    found = judged(tmp_path, "maximum = 0.650", ("0.60",), uncertainty=leaflet)
    assert found.decision.verdict == "no verdict"
    assert "alone gives no verdict" in found.decision.reasons[-1]


def test_a_failed_check_protects_nothing(tmp_path: Path) -> None:
    check = LOW_CHECK + "NaCl,,25.0,0.741,2026-09-15T06:10Z\n"
    found = judged(tmp_path, "maximum = 0.650", ("0.60",), check=check)
    assert found.decision.verdict == "no verdict"
    assert "may not measure" in found.decision.reasons[0]


def test_portions_beyond_the_check_interval_are_not_protected(tmp_path: Path) -> None:
    found = judged(tmp_path, "maximum = 0.650", ("0.60",), check=FULL_CHECK.replace("-15T06", "-14T06"), expected="0.6")
    assert found.decision.verdict == "no verdict"
    assert "standing" in found.decision.reasons[0]


def test_readings_before_the_check_are_refused(tmp_path: Path) -> None:
    with pytest.raises(InputError, match=r"readings.csv: row 2: read_at: .*after the check"):
        judged(tmp_path, "maximum = 0.650", ("0.60",), check=FULL_CHECK.replace("T06", "T09"))


def test_sampling_is_included_where_the_spread_between_positions_is_known(tmp_path: Path) -> None:
    found = judged(
        tmp_path,
        "maximum = 0.650",
        ("0.6215,,,top,", "0.6231,,,bottom,"),
        uncertainty=OWN.replace("source", "s_position = 0.004\nsource"),
    )
    assert found.decision.sampling_included
    assert found.decision.u == pytest.approx(math.sqrt(0.0032**2 + 0.002**2 / 2 + 0.004**2 / 2), rel=1e-12)


def test_one_portion_beyond_a_safety_limit_holds_the_lot(tmp_path: Path) -> None:
    check = FULL_CHECK + "KCl,,25.0,0.8435,2026-09-15T06:15Z\nK2SO4,,25.0,0.9730,2026-09-15T06:20Z\n"
    own = OWN.replace("0.0020", "0.0150").replace("0.0032", "0.0010")
    found = judged(
        tmp_path, "maximum = 0.85", ("0.851", "0.815", "0.812", "0.816"), check=check, kind="safety", uncertainty=own
    )
    assert found.decision.route == "mean of 4"
    assert found.decision.verdict == "pass"
    assert found.decision.disposition == "hold"


def test_warm_portions_do_not_count_and_say_why(tmp_path: Path) -> None:
    found = judged(tmp_path, "maximum = 0.650", ("0.60,28.5,25.0,,",), surface=False)
    assert found.decision.verdict == "no verdict"
    assert "No usable portion" in found.decision.reasons[0]
    assert "warmer" in found.decision.reasons[1]
    overridden = judged(tmp_path, "maximum = 0.650", ("0.60,28.5,25.0,,only portion left",), surface=False)
    assert overridden.decision.verdict != "no verdict"
    assert overridden.budget is not None
    assert any("warmer or colder" in c.name for c in overridden.budget.components)


def test_a_guard_that_leaves_nothing_is_bad_input(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="leaves an acceptance zone"):
        judged(tmp_path, "maximum = 0.65\nminimum = 0.645", ("0.647",))


@pytest.mark.parametrize(
    ("line", "says"),
    [
        ("received_at = 2026-09-15T09:30:00Z", "lot.received_at: .*before the first reading"),
        ("received_at = 2027-09-15T09:30:00Z", "lot.received_at"),
        ("produced_on = 2027-01-01", "lot.produced_on: .*not in the future"),
    ],
)
def test_impossible_dates_are_refused(tmp_path: Path, line: str, says: str) -> None:
    path = lot_file(tmp_path, "maximum = 0.650", ("0.6315", "0.6331"))
    path.write_text(path.read_text(encoding="utf-8").replace('id = "L1"', f'id = "L1"\n{line}'), encoding="utf-8")
    with pytest.raises(InputError, match=says):
        judge_lot(read_lot_file(path), NOW)


def test_runs_beyond_the_limit_that_do_not_count_are_said(tmp_path: Path) -> None:
    path = lot_file(tmp_path, "maximum = 0.650", ("0.6315", "0.6331"))
    readings = tmp_path / "readings.csv"
    text = readings.read_text(encoding="utf-8").replace("override_reason\n", "override_reason,void_reason\n", 1)
    readings.write_text(text + "P9,0.701,2026-09-15T08:30Z,,,,,lid left off\n", encoding="utf-8")
    found = judge_lot(read_lot_file(path), NOW)
    assert found.decision.verdict == "pass"
    assert any("(void) read 0.701, beyond the limit" in reason for reason in found.decision.reasons)


def test_without_named_positions_sampling_is_not_included(tmp_path: Path) -> None:
    own = OWN.replace("source", "s_position = 0.004\nsource")
    found = judged(tmp_path, "maximum = 0.650", ("0.6215", "0.6231"), uncertainty=own)
    assert not found.decision.sampling_included
    assert any("position" in reason for reason in found.decision.reasons)


@pytest.mark.parametrize(
    ("again", "disposition"), [("", "hold"), ("P2,0.60,2026-09-15T08:40Z,25.0,25.0,,\n", "release")]
)
def test_the_guard_does_not_make_a_wet_portion_vanish(tmp_path: Path, again: str, disposition: str) -> None:
    """A refused reading beyond a safety limit holds the lot until that portion is read well."""
    wet = "0.93,26.9,25.0,,"
    path = lot_file(tmp_path, "maximum = 0.650", ("0.601,25.0,25.0,,", "0.602,25.0,25.0,,", wet), kind="safety")
    readings = tmp_path / "readings.csv"
    readings.write_text(readings.read_text(encoding="utf-8") + again, encoding="utf-8")
    found = judge_lot(read_lot_file(path), NOW)
    assert (found.decision.verdict, found.decision.disposition) == ("pass", disposition)
