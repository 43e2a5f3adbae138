"""A mark for each verdict, told apart by shape alone; the words always stand beside it."""

from __future__ import annotations

INK = "#16181a"
_TICK = '<path d="M7 12.5l3.6 3.8L17.2 8.4" fill="none" stroke="{ink}" stroke-width="2.2"/>'
_CROSS = '<path d="M7.5 7.5l9 9M16.5 7.5l-9 9" fill="none" stroke="{ink}" stroke-width="2.2"/>'
_ROUND = f'<circle cx="12" cy="12" r="10.5" fill="{{fill}}" stroke="{INK}" stroke-width="1.4"/>'
_SQUARE = f'<rect x="2" y="2" width="20" height="20" fill="{{fill}}" stroke="{INK}" stroke-width="1.4"/>'
_DIAMOND = (
    f'<path d="M12 1.2L22.8 12L12 22.8L1.2 12z" fill="none" stroke="{INK}" stroke-width="1.4"/>'
    f'<path d="M7.5 12h9" stroke="{INK}" stroke-width="2.2"/>'
)
_HELD = _ROUND.format(fill="none") + f'<path d="M9.3 7.5v9M14.7 7.5v9" stroke="{INK}" stroke-width="2.2"/>'
_MARKS = {
    "pass": _ROUND.format(fill=INK) + _TICK.format(ink="#ffffff"),
    "conditional pass": _ROUND.format(fill="none") + _TICK.format(ink=INK),
    "conditional fail": _SQUARE.format(fill="none") + _CROSS.format(ink=INK),
    "fail": _SQUARE.format(fill=INK) + _CROSS.format(ink="#ffffff"),
}


def verdict_mark(verdict: str, disposition: str = "release") -> str:
    """The mark of a verdict as SVG; what states nothing has the open diamond, and a held lot never has a tick."""
    inner = _MARKS.get(verdict, _DIAMOND)
    if disposition != "release" and verdict in ("pass", "conditional pass"):
        inner = _HELD
    return f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 24 24" width="24" height="24">{inner}</svg>'
