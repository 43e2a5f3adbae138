"""The QR mark in the margin: the record's name and digest, so that paper can be matched with the record."""

from __future__ import annotations

import segno

# One fixed mask: choosing the best of eight costs five times as long and every reader decodes all eight.
MASK = 3


def seal(record_id: str, digest: str) -> str:
    """The text in the QR mark."""
    return f"isohume:{record_id}:sha256:{digest}"


def qr_svg(text: str) -> str:
    """A text as a QR mark: SVG, black on nothing, with its quiet zone."""
    code = segno.make(text, error="m", micro=False, boost_error=False, mask=MASK)
    border = 4
    runs = []
    for y, row in enumerate(code.matrix):
        x = 0
        while x < len(row):
            start = x
            while x < len(row) and row[x]:
                x += 1
            if x > start:
                runs.append(f"M{start + border} {y + border}h{x - start}v1h-{x - start}z")
            x += 1
    size = len(code.matrix) + 2 * border
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {size} {size}" width="{size}" height="{size}">'
        f'<path d="{"".join(runs)}" fill="#000000"/></svg>'
    )
