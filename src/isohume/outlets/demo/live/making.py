"""Plants B and C made whole, each in a data folder of its own."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from pathlib import Path

from isohume.outlets.demo.live import plant_b, plant_c
from isohume.outlets.demo.plant_a.making import new_password, quick_and_safe, quick_passwords, use_folder, write_sign_in

PLANTS = {"b": plant_b, "c": plant_c}


def make(folder: Path, now: datetime, plant: str, tell: Callable[[str], None] = lambda _: None) -> None:
    """Fill an empty, migrated data folder with plant B or C.

    folder: the data folder that Django's settings name already, or will from here on.
    now: the day before this moment is the plant's.
    plant: "b" or "c".
    tell: called with a line of progress.
    """
    use_folder(folder)
    password, chosen = new_password(), PLANTS[plant]
    with quick_and_safe(), quick_passwords():
        tell("its day")
        chosen.live(now, password)
    write_sign_in(folder, password, chosen.PLANT.people)
