"""The two incidents of plant A.

1. OW-1 passes on Tuesday at 06:05; syrup smears its rim at 15:20; on Wednesday at 06:10 it reads low. Eleven lots of
   soft bars lie between, without a closing check: read low, several of them are nearer to the limit than they say.
2. A reading of 0.681 was typed as 0.618; the second keying finds it.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta

from isohume.outlets.demo.plant_a.day import Day, check, hand_over, measure, open_bench, second_keying, start
from isohume.outlets.demo.plant_a.day import finish as finish_day
from isohume.outlets.demo.plant_a.lots import Wanted, portions_of, read_portion, receive
from isohume.outlets.site.bench.actions.key_second import KeySecond
from isohume.outlets.site.checks.actions.log_cleaning import LogCleaning
from isohume.outlets.site.ledger.actions import By, perform
from isohume.outlets.site.lots.actions.own_deviation import OwnDeviation
from isohume.outlets.site.lots.models import Deviation

AS_READ = ("0.634", "0.638", "0.631", "0.642", "0.637", "0.635", "0.629", "0.645", "0.636", "0.639", "0.632")
LOW = {"LiCl": -0.001, "MgCl2": -0.004, "Mg(NO3)2": -0.009, "NaCl": -0.012}


def smeared_tuesday(day: Day) -> None:
    """Eleven lots of soft bars, a smeared rim, and no closing check."""
    open_bench(day)
    measure(day, list(_soft_bars(day)))
    second_keying(day, day.at(16, 0))
    finish_day(day, day.at(16, 30))
    note = (
        "Syrup ran over the rim of OW-1 at 15:20 when a cup of filling was taken out. Wiped dry. "
        "No time for a closing check, called to line 2."
    )
    hand_over(day, day.at(17, 45), note)


def _soft_bars(day: Day) -> Iterator[Wanted]:
    for k, mean in enumerate(AS_READ, 1):
        half = 0.0004 + 0.0002 * (k % 4)
        pair = (f"{float(mean) - half:.4f}", f"{float(mean) + half:.4f}")
        where = f"line {1 + k % 2}, middle of the run"
        yield Wanted(f"SB-{day.on:%m%d}-{k:02}", day.bench.soft_bar, where, "whole bar", pair)


def low_wednesday(day: Day) -> None:
    """The morning check fails low; cleaned, checked again, and the deviation has an owner."""
    bench, cast = day.bench, day.bench.cast
    start(day, bench.dew_point, day.at(6, 0))
    start(day, bench.capacitance, day.at(6, 2))
    failed = check(day, bench.dew_point, day.at(6, 10), off=LOW)
    perform(
        LogCleaning(bench.dew_point, "Rim and chamber: dried syrup on the rim, washed off, dried, seal looked at"),
        By(day.analyst, day.at(6, 32)),
    )
    check(day, bench.dew_point, day.at(6, 35))
    check(day, bench.capacitance, day.at(7, 0))
    deviation = Deviation.objects.get(failed_check=failed)
    perform(OwnDeviation(deviation, cast.manager), By(cast.manager, day.at(7, 25)))


def swapped_digits(day: Day) -> None:
    """A soft bar read at 0.681 is typed as 0.618; at the second keying 0.681 is keyed."""
    bench = day.bench
    where, code = "line 2, start after the stop", f"SB-{day.on:%m%d}-20"
    wanted = Wanted(code, bench.soft_bar, where, "whole bar", ("0.618", "0.679"))
    lot = receive(day, wanted, day.at(13, 0))
    first, second = portions_of(lot)
    swapped = read_portion(day, bench.dew_point, first, "0.618", day.at(13, 20))
    other = read_portion(day, bench.dew_point, second, "0.679", day.at(13, 27))
    by = By(bench.cast.manager, day.at(14, 0))
    perform(KeySecond(swapped, "0.681"), by)
    perform(KeySecond(other, "0.679"), By(bench.cast.manager, by.at + timedelta(seconds=20)))
