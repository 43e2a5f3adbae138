"""Every part of a page, filled with plant A's words: what the gallery page shows."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from pathlib import Path
from types import SimpleNamespace
from typing import Any

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup

import isohume.outlets.site.look as look
from isohume.outlets.paper.line_spec import InstrumentRange, LimitMark, Reference, Speaks, ValueMark, fitted
from isohume.outlets.paper.time_spec import TimeBreak, TimeLimits, TimePoint
from isohume.outlets.site.look.screen_line import screen_chart, screen_line

LOOK = Path(look.__file__).parent
NOW = datetime(2026, 11, 24, 9, 30, tzinfo=UTC)
STATES = [
    ("Within", "pass"),
    ("Hold", "hold"),
    ("Beyond its limit", "fail"),
    ("Waits", "wait"),
    ("Running", "run"),
    ("Not known", "unknown"),
    ("Void", "void"),
    ("Signed", "locked"),
    ("Due today", "due"),
    ("Note", "info"),
]
HOW = {
    "formula": "b(a_w) = b₁ + (b₂ − b₁)·(a_w − a₁)/(a₂ − a₁)",
    "inputs": [("Mg(NO₃)₂", "read 0.5301", "expected 0.5289"), ("NaCl", "read 0.7542", "expected 0.7530")],
    "source": "Greenspan1977, table 2 (from memory)",
    "range": "0.528 to 0.753 at 25.0 °C",
    "depends": "the temperature of the block: 0.1 °C moves it by 0.0002",
}


@dataclass
class Tried:
    """What came of a form, as the views hand it to a page."""

    errors: dict[str, str] = field(default_factory=dict)
    reasons: list[str] = field(default_factory=list)
    typed: dict[str, str] = field(default_factory=dict)

    def error(self, name: str) -> str:
        """The error at a field."""
        return self.errors.get(name, "")

    def value(self, name: str, otherwise: object = "") -> str:
        """What was typed."""
        return self.typed.get(name, str(otherwise))


def environment() -> Environment:
    """The templates as the site sets them up, without Django."""
    env = Environment(
        loader=FileSystemLoader([LOOK / "templates", Path(__file__).parent]),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    env.globals.update(
        static=lambda path: f"/static/{path}",
        url=lambda name, *args: "/" if name == "today" else f"/{name.replace('_', '-')}/",
        version="0",
        live_origin="",
    )
    return env


def context(path: str = "/lots/") -> dict[str, Any]:
    """What every page gets."""
    return {
        "request": SimpleNamespace(path=path, get_full_path=lambda: path),
        "me": SimpleNamespace(pk=7, printed_name="Ada Thorne"),
        "site": SimpleNamespace(name="Harrow Lane Oat Works", idle_minutes=15),
        "now": NOW,
        "ledger_at": 41,
        "tried": Tried(),
        "csrf_token": "token",
        "csrf_input": Markup('<input type="hidden" name="csrfmiddlewaretoken" value="token">'),
    }


def drawings() -> dict[str, Any]:
    """The lines and the chart of the gallery."""
    today = fitted(
        "What each instrument may measure now, and the waiting samples",
        values=[
            ValueMark("2 oat base", 0.29, "0.29", "expected"),
            ValueMark("1 fruit filling", 0.53, "0.53", "expected"),
            ValueMark("3 soft oat bar", 0.632, "0.632", "expected"),
        ],
        ranges=[
            InstrumentRange("OW-1", 0.3279, 0.7529, "6 h 10 min left"),
            InstrumentRange("OW-2", 0.1130, 0.5288, "40 min left"),
            InstrumentRange("OW-3", 0.1130, 0.7529, "its check of 06:10 failed", may_measure=False),
        ],
    )
    check = fitted(
        "The check of 07:40 on OW-1",
        [Reference("Mg(NO3)2", 0.5289, 0.5301, True), Reference("NaCl", 0.7530, 0.7542, True)],
        Speaks(0.5289, 0.7530),
        [LimitMark(0.650, "<=", "0.650", 0.6443, "0.6443")],
        [
            ValueMark("mean of 2", 0.6372, "0.6372", "result", 0.0070, "0.0070"),
            ValueMark("run 41", 0.6351, "0.6351", "reading"),
            ValueMark("run 43", 0.6393, "0.6393", "reading"),
        ],
    )
    values = (0.0011, 0.0016, 0.0009, 0.0021, 0.0018, 0.0024, 0.0031, -0.0121, 0.0004, 0.0009, 0.0002, 0.0007)
    points = [
        TimePoint(NOW - timedelta(days=24 - 2 * i), v, "beyond" if v < -0.01 else "void" if i == 3 else "within")
        for i, v in enumerate(values)
    ]
    chart = screen_chart(
        points,
        centre=0.001,
        limits=TimeLimits(-0.005, 0.005),
        title="Deviation from NaCl, OW-1",
        breaks=[
            TimeBreak(NOW - timedelta(days=9, hours=3), "cleaned, adjusted"),
            TimeBreak(NOW - timedelta(days=17), "new bottle"),
        ],
    )
    return {"today": screen_line(today), "check": screen_line(check, wide=False), "chart": chart}


def gallery(kind: str = "bench", **more: Any) -> str:
    """The gallery page."""
    env = environment()
    parts = env.get_template("look/parts.html").module
    clock = parts.clock((NOW - timedelta(minutes=11)).isoformat(), 15, "open for")
    lots = [
        (
            Markup(parts.to("/lot/1/", "SB-1124-07")),
            "soft oat bar",
            "0.6372 ± 0.0070",
            "> 99.9 %",
            parts.state("Accept", "pass"),
        ),
        (
            Markup(parts.to("/lot/2/", "SB-1124-08")),
            "soft oat bar",
            "0.6512 ± 0.0070",
            "36.6 %",
            parts.state("Hold", "hold"),
        ),
        (
            Markup(parts.to("/lot/3/", "FB-1124-02")),
            "filled bar",
            "not measured",
            "not stated",
            parts.state("Waits", "wait"),
        ),
    ]
    drawn = drawings()
    filled = {
        **context(),
        "kind": kind,
        "today": drawn["today"],
        "check": drawn["check"],
        "chart": SimpleNamespace(
            svg=drawn["chart"].svg, rows=drawn["chart"].rows, headers=("When", "Deviation", "State", "Note")
        ),
        "states": STATES,
        "how": HOW,
        "clock": clock,
        "lots": lots,
        "tried": Tried(
            errors={"a_w": "read 65.2; allowed: a fraction greater than 0 and at most 1; was ERH in percent meant?"},
            typed={"a_w": "65.2"},
        ),
    }
    return env.get_template("gallery.html").render({**filled, **more})


def lock() -> str:
    """The lock page."""
    return environment().get_template("lock.html").render(context("/lock/"))
