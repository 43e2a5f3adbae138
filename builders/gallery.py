"""Draws the pictures of docs/gallery: first pages of the demonstration day's certificates, as a user gets them.

`python builders/gallery.py`; needs the test requirements (PyMuPDF renders the pages).
"""

from __future__ import annotations

import tempfile
from datetime import UTC, datetime
from pathlib import Path

import pymupdf

from isohume.bench.record import canonical, digest, read_lot_file
from isohume.bench.record.compose import compose
from isohume.bench.record.judge import judge_lot
from isohume.outlets.cli.demo import write_day
from isohume.outlets.paper import certificate_pdf

GALLERY = Path(__file__).parents[1] / "docs" / "gallery"
PICTURES = {"certificate-pass": "SB-0914-01", "certificate-hold": "SB-0914-02", "report-no-verdict": "SB-0914-09"}
ISSUED = datetime(2026, 9, 15, 15, 40, tzinfo=UTC)


def draw() -> None:
    """Judge each lot at a fixed moment, print it, and render its first page."""
    with tempfile.TemporaryDirectory() as folder:
        lots = {path.stem: path for path in write_day(Path(folder))}
        for number, (name, lot) in enumerate(PICTURES.items(), 1):
            judged = judge_lot(read_lot_file(lots[lot]), ISSUED)
            record = compose(judged, f"R{number:06d}", ISSUED.isoformat())
            pdf = certificate_pdf(record, digest(canonical(record)))
            page = pymupdf.open("pdf", pdf)[0].get_pixmap(dpi=80)
            page.save(GALLERY / f"{name}.png")


if __name__ == "__main__":
    draw()
