"""Plant A made whole: its people, its bench, its days, the morning of today."""

from __future__ import annotations

import gc
import os
import random
import secrets
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from datetime import date, datetime, time, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

from django.conf import settings
from django.contrib.auth.hashers import Argon2PasswordHasher
from django.db import connection

from isohume.outlets.demo.plant_a.bench import Bench, make_bench
from isohume.outlets.demo.plant_a.cast import ADMINISTRATOR, PEOPLE, make_cast
from isohume.outlets.demo.plant_a.day import Day, check, finish, measure, others, second_keying, soft_bars, usual
from isohume.outlets.demo.plant_a.incidents import low_wednesday, smeared_tuesday, swapped_digits
from isohume.outlets.demo.plant_a.lots import Wanted
from isohume.outlets.demo.plant_a.proficiency import report_of_the_round
from isohume.outlets.demo.plant_a.today import waiting
from isohume.outlets.site.ledger.writing import writing

SEED, DAYS = 20260916, 90
SIGN_IN = "demo-sign-in.txt"
WEDNESDAY, FRIDAY = 2, 4
ROUND_DAY = 2  # the working day on whose evening the report of the proficiency round is recorded
FULL, HALF, FULL_DAYS = 10, 4, 14  # soft bars a day: fewer before the last fortnight, so that making it stays short
WORDS = (
    "amber", "barley", "calm", "drift", "eager", "field", "grain", "hazel",
    "inlet", "juniper", "kettle", "lantern", "meadow", "north", "oat", "plain",
)  # fmt: skip


def make(folder: Path, now: datetime, days: int = DAYS, tell: Callable[[str], None] = lambda _: None) -> None:
    """Fill an empty, migrated data folder with plant A.

    folder: the data folder that Django's settings name already, or will from here on.
    now: the moment the plant's life ends at; everything lies before it.
    days: how many days of life, at least 10.
    tell: called with a line of progress.
    """
    use_folder(folder)
    password = new_password()
    with quick_and_safe():
        zone = ZoneInfo("Europe/London")
        today = now.astimezone(zone).date()
        first = today - timedelta(days=days)
        begun = datetime.combine(first - timedelta(days=1), time(10, 0), zone)
        with writing(begun), quick_passwords():
            bench = make_bench(make_cast(begun, password), begun)
        _live(bench, first, now, days, tell)
    write_sign_in(folder, password, [*PEOPLE, (*ADMINISTRATOR, ["administrator"])])


def use_folder(folder: Path) -> None:
    """Point Django's settings and its connection at a folder."""
    if Path(settings.DATA) != folder:
        connection.close()
        connection.settings_dict["NAME"] = folder / connection.settings_dict["NAME"].name
        settings.DATA = folder


@contextmanager
def quick_and_safe() -> Iterator[None]:
    """Nobody else reads while it is made: the disk is synced once, at the end."""
    connection.ensure_connection()
    thresholds = gc.get_threshold()
    gc.freeze()
    gc.set_threshold(100_000, 20, 100)  # a tenth of the time went into looking for garbage that is not there
    with connection.cursor() as cursor:
        cursor.execute("PRAGMA synchronous = OFF")
        try:
            yield
        finally:
            gc.set_threshold(*thresholds)
            gc.unfreeze()
            cursor.execute("PRAGMA synchronous = FULL")
            cursor.execute("PRAGMA wal_checkpoint(TRUNCATE)")


@contextmanager
def quick_passwords() -> Iterator[None]:
    """The demonstration's password is printed anyway; the first sign-in hashes it anew at full cost."""
    costs = Argon2PasswordHasher.time_cost, Argon2PasswordHasher.memory_cost
    Argon2PasswordHasher.time_cost, Argon2PasswordHasher.memory_cost = 1, 8192
    try:
        yield
    finally:
        Argon2PasswordHasher.time_cost, Argon2PasswordHasher.memory_cost = costs


def incident_wednesday(now: datetime) -> date:
    """The last Wednesday whose morning has passed."""
    on = now.date() if now.hour >= 8 else now.date() - timedelta(days=1)
    return on - timedelta(days=(on.weekday() - WEDNESDAY) % 7)


def _live(bench: Bench, first: date, now: datetime, days: int, tell: Callable[[str], None]) -> None:
    dice = random.Random(SEED)
    local = now.astimezone(ZoneInfo(bench.cast.site.time_zone))
    wednesday = incident_wednesday(local)
    working = [on for n in range(days) if (on := first + timedelta(days=n)).weekday() <= FRIDAY]
    swapped = max(on for on in working if on != wednesday - timedelta(days=1))
    for number, on in enumerate(working):
        day = Day(bench, on, dice, bench.cast.analysts[number % 2], number)
        lots = FULL if (local.date() - on).days <= FULL_DAYS else HALF
        with writing(day.at(5, 0)):
            _lived(day, wednesday, swapped, lots)
            if number == ROUND_DAY:
                report_of_the_round(day)
        tell(f"day {number + 1} of {len(working)}")
    day = Day(bench, local.date(), dice, bench.cast.analysts[0], days)
    with writing(now):
        waiting(day, local, fails=wednesday == day.on)


def _lived(day: Day, wednesday: date, swapped: date, lots: int) -> None:
    if day.on == wednesday - timedelta(days=1):
        smeared_tuesday(day)
        return
    wanted = [*soft_bars(day, lots), *others(day)]
    if day.on == wednesday:
        low_wednesday(day)
        _rest_of(day, wanted)
    else:
        usual(day, wanted)
    if day.on == swapped:
        swapped_digits(day)


def _rest_of(day: Day, wanted: list[Wanted]) -> None:
    measure(day, wanted)
    check(day, day.bench.dew_point, day.at(15, 30), "closing")
    second_keying(day, day.at(16, 0))
    finish(day, day.at(16, 30))


def new_password() -> str:
    """Four words, new for every demonstration."""
    return " ".join(secrets.SystemRandom().sample(WORDS, 4))


def write_sign_in(folder: Path, password: str, names: Sequence[tuple[str, str, Sequence[str]]]) -> None:
    """Who may sign in, for the owner of the folder alone."""
    width = max(len(name) for name, _, _ in names)
    lines = [f"  {name:<{width}}  {printed}, {', '.join(roles)}" for name, printed, roles in names]
    text = "\n".join(["Demonstration plant (invented). Sign in as one of:", *lines, f"password of all: {password}", ""])
    place = folder / SIGN_IN
    with os.fdopen(os.open(place, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600), "w", encoding="utf-8") as file:
        file.write(text)
