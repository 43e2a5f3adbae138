"""Plants B and C made whole, each in a data folder of its own."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from pathlib import Path

from isohume.outlets.demo import cardamom_quay, three_gate
from isohume.outlets.demo.live.days import DAYS
from isohume.outlets.demo.plant_a.making import new_password, quick_and_safe, quick_passwords, use_folder, write_sign_in

PLANTS = {"b": three_gate, "c": cardamom_quay}


def make(
    folder: Path, now: datetime, plant: str, tell: Callable[[str], None] = lambda _: None, days: int = DAYS
) -> None:
    """Fill an empty, migrated data folder with plant B or C.

    folder: the data folder that Django's settings name already, or will from here on.
    now: the moment the plant's life ends at; everything lies before it.
    plant: "b" or "c".
    tell: called with a line of progress.
    days: how many days of life, at least 14; five working days of each whole week are lived.
    """
    use_folder(folder)
    password, chosen = new_password(), PLANTS[plant]
    with quick_and_safe(), quick_passwords():
        chosen.live(now, password, days, tell)
    write_sign_in(folder, password, chosen.PLANT.people)
