"""Pictures of the site's main pages for docs/gallery/site, from the demonstration plant in the real browser.

`PYTHONPATH=.:src python -m builders.site_gallery [--folder FOLDER] [PAGE ...]` makes the plant anew, or takes a copy of
the full plant that the tests of the site make, and draws every page or those named. Pictures are brought down to a
palette so that the documentation stays small.
"""

from __future__ import annotations

import argparse
import atexit
import os
import shutil
import struct
import sys
import tempfile
import zlib
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import pymupdf

if "ISOHUME_DATA" not in os.environ:
    os.environ["ISOHUME_DATA"] = tempfile.mkdtemp(prefix="isohume-unused-")  # the settings want a folder
    atexit.register(shutil.rmtree, os.environ["ISOHUME_DATA"], ignore_errors=True)
os.environ.setdefault("DJANGO_SETTINGS_MODULE", "isohume.outlets.site.config.settings")

import django

django.setup()

from django.urls import reverse  # noqa: E402
from tests import served  # noqa: E402
from tests.served import Plant  # noqa: E402
from tests.site import addresses  # noqa: E402
from tests.site.browsing import Watched, sign_in, watched  # noqa: E402
from tests.site.full_plant import full_plant  # noqa: E402

PLACE = Path(__file__).parents[1] / "docs" / "gallery" / "site"
WIDTHS = (1280, 800)
TALLEST, COLOURS = 1500, 16
DARK = ("today", "lot")
PICTURES = (
    "today", "checks", "check", "check_new", "start_sheet", "shift", "tempering", "second_keying", "lot_new",
    "sample_new", "portion", "run", "import_runs", "in_process", "labels", "hand_over_new", "lots", "lot", "deviations",
    "deviation", "sign", "records", "record", "certificate", "verify", "register", "due", "instruments", "instrument",
    "methods", "methodversion", "solutions", "solutionlot", "bottle", "products", "product", "product_act", "people",
    "person", "trail", "moisture_new", "studies", "study_new", "study", "study_keep", "isotherm",
    "look_back", "check_sequence", "charts", "chart", "budget_refresh", "lot_positions", "product_sampling",
    "instrument_comparisons", "instrumentcomparison", "rounds", "incoming", "history", "lot_restate",
    "live", "capturedrun", "accounting", "agents", "outbox",
)  # fmt: skip
INCIDENT = "SELECT min(id) FROM checks_check WHERE NOT passed AND voided_at IS NULL"
CHOSEN = {  # the example that says most
    "check": INCIDENT,
    "lot": "SELECT max(id) FROM bench_lot WHERE state = 'released'",
    "run": "SELECT run_id FROM bench_secondkeying WHERE NOT agrees",
    "deviation": "SELECT min(id) FROM lots_deviation WHERE kind = 'failed check'",
    "bottle": "SELECT min(id) FROM register_bottle",
    "trail": "SELECT max(id) FROM bench_lot WHERE state = 'released'",
    "look_back": INCIDENT,
    "check_sequence": INCIDENT,
    "chart": """SELECT min(id) FROM charts_chart WHERE solution = 'NaCl'
        AND instrument_id = (SELECT id FROM register_instrument WHERE name = 'OW-1')""",
    "lot_positions": """SELECT lot_id FROM bench_sample GROUP BY lot_id
        ORDER BY count(DISTINCT position) DESC, lot_id DESC LIMIT 1""",
    "product_sampling": "SELECT max(product_id) FROM strata_samplingplan",
    "lot_restate": """SELECT max(bench_lot.id) FROM bench_lot JOIN studies_keptheat USING (product_id)
        WHERE state = 'released'""",
}
ASKED = {  # what is asked of a page
    "chart": "?kind=individuals&span=year",
    "lot_restate": "?to_c=30",
}
STRATIFIED = """
from datetime import timedelta
from django.utils import timezone
from isohume.outlets.site.bench.actions.receive_lot import ReceiveLot
from isohume.outlets.site.bench.actions.receive_sample import ReceiveSample
from isohume.outlets.site.bench.actions.record_run import RecordRun
from isohume.outlets.site.bench.models import Portion
from isohume.outlets.site.ledger.actions import By, perform
from isohume.outlets.site.people.models import Person
from isohume.outlets.site.register.models import Instrument, Product

READ = {
    "composite": ["0.6322"], "tray 6 front": ["0.6580", "0.6602", "0.6611"],
    "tray 6 middle": ["0.6415", "0.6421"], "tray 1 rear": ["0.6301", "0.6312"],
}
now = timezone.now()
by, instrument = By(Person.objects.get(username="rhale"), now), Instrument.objects.get(name="OW-1")
made_on = (now - timedelta(days=1)).date().isoformat()
lot = perform(ReceiveLot(Product.objects.get(name="Soft oat bar"), "SB-TRAYS", produced_on=made_on), by)
for place, values in READ.items():
    sample = perform(ReceiveSample(lot, place, "whole bar", "yes", portions=len(values)), by)
    for cup, a_w in zip(Portion.objects.filter(sample=sample).order_by("pk"), values, strict=True):
        perform(RecordRun(cup, instrument, a_w, "25.1", "25.0", ""), by)
"""  # a lot that was read at several places, which no act of the tests makes


@dataclass(frozen=True)
class Picture:
    """One picture: the page, how wide, in which light."""

    name: str
    address: str
    width: int
    theme: str

    @property
    def file(self) -> Path:
        """Where it is kept."""
        dark = "-dark" if self.theme == "dark" else ""
        return PLACE / f"{self.name.replace('_', '-')}-{self.width}{dark}.png"


def pictures(plant: Plant) -> Iterator[Picture]:
    """Every picture there is."""
    found = addresses.pages(plant.ask)
    for name in PICTURES:
        address = found[name][0]
        if name in CHOSEN:
            which = [plant.one(CHOSEN[name])]
            address = reverse(name, args=["lot", *which] if name == "trail" else which)
        address += ASKED.get(name, "")
        for width in WIDTHS:
            yield Picture(name, address, width, "light")
            if name in DARK:
                yield Picture(name, address, width, "dark")


def take(seen: Watched, picture: Picture) -> bytes:
    """The page as it stands in the browser, from its top down to a height that a reader still scrolls."""
    theme: Any = picture.theme
    seen.page.emulate_media(color_scheme=theme, reduced_motion="reduce")
    seen.page.set_viewport_size({"width": picture.width, "height": 900})
    seen.go(picture.address)
    tall = int(seen.page.evaluate("document.documentElement.scrollHeight"))
    seen.page.set_viewport_size({"width": picture.width, "height": min(max(tall, 600), TALLEST)})
    return seen.page.screenshot()


def small(png: bytes) -> bytes:
    """The picture in sixteen colours of its own: the most frequent ones, every other pixel the nearest of them."""
    pixmap = pymupdf.Pixmap(png)
    pixels = np.frombuffer(pixmap.samples, np.uint8).reshape(-1, pixmap.n)[:, :3].astype(np.int32)
    coarse = pixels & 0xF8
    keys = coarse[:, 0] << 16 | coarse[:, 1] << 8 | coarse[:, 2]
    known, where, counts = np.unique(keys, return_inverse=True, return_counts=True)
    palette = _palette(pixels, where, counts)
    shades = np.stack([known >> 16, known >> 8 & 255, known & 255], axis=1)
    nearest = ((shades[:, None, :] - palette[None, :, :]) ** 2).sum(axis=2).argmin(axis=1)
    return _png(nearest[where].reshape(pixmap.height, pixmap.width), palette)


def _palette(pixels: np.ndarray, where: np.ndarray, counts: np.ndarray) -> np.ndarray:
    """The colours that most pixels have, no two of them alike; a hue says something, a shade of grey little."""
    first = np.unique(where, return_index=True)[1]
    hue = pixels[first].max(axis=1) - pixels[first].min(axis=1)
    chosen: list[np.ndarray] = []
    for place in (counts * (1 + hue / 12)).argsort()[::-1]:
        colour = pixels[first[place]]
        if all(int(((colour - other) ** 2).sum()) > 90 for other in chosen):
            chosen.append(colour)
        if len(chosen) == COLOURS:
            break
    return np.array(chosen, dtype=np.int32)


def _png(indexes: np.ndarray, palette: np.ndarray) -> bytes:
    """A PNG of four bits a pixel."""
    height, width = indexes.shape
    even = np.zeros((height, width + width % 2), dtype=np.uint8)
    even[:, :width] = indexes
    packed = even[:, ::2] << 4 | even[:, 1::2]
    rows = np.concatenate([np.zeros((height, 1), dtype=np.uint8), packed], axis=1)
    head = struct.pack(">IIBBBBB", width, height, 4, 3, 0, 0, 0)
    colours = palette.astype(np.uint8).tobytes()
    parts = ((b"IHDR", head), (b"PLTE", colours), (b"IDAT", zlib.compress(rows.tobytes(), 9)), (b"IEND", b""))
    chunks = (struct.pack(">I", len(d)) + kind + d + struct.pack(">I", zlib.crc32(kind + d)) for kind, d in parts)
    return b"\x89PNG\r\n\x1a\n" + b"".join(chunks)


def main(given: list[str]) -> None:
    """Take every picture anew, or those of the pages named."""
    reader = argparse.ArgumentParser(description=__doc__)
    reader.add_argument("--folder", type=Path)
    reader.add_argument("pages", nargs="*", choices=[*PICTURES, []], default=[])
    asked = reader.parse_args(given)
    wanted = set(asked.pages or PICTURES)
    with tempfile.TemporaryDirectory(prefix="isohume-gallery-") as place:
        made = asked.folder or full_plant(Path(place))
        plant = served.copy_of(made, Path(place) / "data")
        if "lot_positions" in wanted:
            served.in_the_site(plant.folder, STRATIFIED)
        PLACE.mkdir(parents=True, exist_ok=True)
        with served.serving(plant) as site, served.chromium() as browser:
            with watched(browser, site.address, site.said["live"]) as seen:
                sign_in(seen, "mfarrow", plant.password)
                for picture in (each for each in pictures(plant) if each.name in wanted):
                    picture.file.write_bytes(small(take(seen, picture)))
            with watched(browser, site.address) as seen:  # signed out
                picture = Picture("sign_in", "/sign-in/", WIDTHS[0], "light")
                picture.file.write_bytes(small(take(seen, picture)))
    kept = sorted(PLACE.glob("*.png"))
    total = sum(one.stat().st_size for one in kept)
    print(
        f"{len(kept)} pictures, {total / 1e6:.2f} MB, the largest {max(one.stat().st_size for one in kept) // 1000} kB"
    )


if __name__ == "__main__":
    main(sys.argv[1:])
