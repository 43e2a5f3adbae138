"""The chart of deviations against time, read back from its SVG: places, words, shapes; and its table."""

from __future__ import annotations

import itertools
import re
from datetime import UTC, datetime, timedelta
from xml.etree import ElementTree
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from isohume.foundation.quantity.errors import InputError
from isohume.outlets.paper.line_labels import text_width
from isohume.outlets.paper.time_chart import TimeRow, draw_time_chart, time_chart_table
from isohume.outlets.paper.time_spec import TimeBreak, TimeLimits, TimePoint
from isohume.outlets.paper.time_ticks import time_ticks, value_ticks

NS = "{http://www.w3.org/2000/svg}"
START = datetime(2026, 11, 2, 6, 0, tzinfo=UTC)
POINTS = [
    TimePoint(START, 0.001),
    TimePoint(START + timedelta(days=7), -0.012, "beyond", "syrup at the rim"),
    TimePoint(START + timedelta(days=8), 0.009, "void", "lid open"),
    TimePoint(START + timedelta(days=14), 0.002),
    TimePoint(START + timedelta(days=21), 0.003),
]
BREAKS = [TimeBreak(START + timedelta(days=9), "cleaned, adjusted")]
LIMITS = TimeLimits(-0.005, 0.005)
MOMENTS = st.integers(0, 90 * 24 * 60).map(lambda minutes: START + timedelta(minutes=minutes))
WORDS = st.text(st.characters(exclude_categories=["Cs"]), min_size=1, max_size=30)


def drawn(points: list[TimePoint] = POINTS, breaks: list[TimeBreak] = BREAKS, limits: TimeLimits = LIMITS) -> str:
    return draw_time_chart(points, centre=0.001, limits=limits, title="NaCl on OW-1", unit="a_w", breaks=breaks)


def texts(svg: str) -> list[ElementTree.Element]:
    return list(ElementTree.fromstring(svg).iter(f"{NS}text"))


def test_points_stand_where_both_printed_axes_say() -> None:
    svg = drawn()
    days = {t.text: float(t.get("x", "0")) for t in texts(svg) if re.fullmatch(r"\d\d-\d\d", t.text or "")}
    ends = sorted((datetime.strptime(f"2026-{d}", "%Y-%m-%d").replace(tzinfo=UTC), x) for d, x in days.items())
    per_second = (ends[-1][1] - ends[0][1]) / (ends[-1][0] - ends[0][0]).total_seconds()
    values = {
        float((t.text or "").replace("−", "-")): float(t.get("y", "0"))
        for t in texts(svg)
        if t.get("text-anchor") == "end" and re.fullmatch(r"0|[+−]\d\.\d+", t.text or "")
    }
    (v1, y1), (v2, y2) = min(values.items()), max(values.items())
    limit_y = [
        float(g[0].get("y1", "0")) for g in ElementTree.fromstring(svg).iter(f"{NS}g") if g.get("class") == "limit"
    ]
    # the printed number stands a little below its tick: the limits, which are ticks here, say how much
    shift = values[-0.005] - max(limit_y[:2])
    circles = [c for c in ElementTree.fromstring(svg).iter(f"{NS}circle") if c.get("class") == "within"][:3]
    for circle, point in zip(circles, [p for p in POINTS if p.state == "within"], strict=True):
        at = ends[0][0] + timedelta(seconds=(float(circle.get("cx", "0")) - ends[0][1]) / per_second)
        assert abs(at - point.at) < timedelta(hours=1)
        value = v1 + (float(circle.get("cy", "0")) + shift - y1) * (v2 - v1) / (y2 - y1)
        assert value == pytest.approx(point.value, abs=0.0001)


def test_each_state_has_its_shape_and_its_words_in_the_key() -> None:
    svg = drawn()
    words = [t.text for t in texts(svg)]
    for said in ("within its limits", "beyond a limit", "void, not counted", "centre line", "dated event",
                 "cleaned, adjusted", "deviation, a_w", "limit, strokes on the side not allowed"):  # fmt: skip
        assert said in words
    assert svg.count('class="beyond"') == 2  # the point and its key
    assert svg.count('class="unused"') == 2
    bare = [t.text for t in texts(drawn(POINTS[:1], [], TimeLimits()))]
    assert "beyond a limit" not in bare
    assert not [w for w in bare if w and "limit" in w]
    colours = set(re.findall(r"#[0-9a-f]{6}", svg))
    assert all(max(rgb) - min(rgb) <= 12 for rgb in ([int(c[i : i + 2], 16) for i in (1, 3, 5)] for c in colours))


def test_the_thread_is_torn_at_a_break_and_passes_void_points() -> None:
    def threads(svg: str) -> int:
        lines = ElementTree.fromstring(svg).iter(f"{NS}line")
        return sum(s.get("stroke-width") == "0.7" for s in lines)

    assert threads(drawn(breaks=[])) == 3
    assert threads(drawn()) == 2


def test_strokes_of_a_wall_point_to_the_side_not_allowed() -> None:
    groups = [g for g in ElementTree.fromstring(drawn()).iter(f"{NS}g") if g.get("class") == "limit"]
    low, high = ([float(s.get("y2", "0")) - float(g[0].get("y1", "0")) for s in g[1:]] for g in groups)
    assert low
    assert all(y > 0 for y in low)
    assert high
    assert all(y < 0 for y in high)


@settings(derandomize=True, deadline=None, max_examples=80)
@given(
    points=st.lists(
        st.builds(TimePoint, MOMENTS, st.floats(-0.05, 0.05), st.sampled_from(["within", "beyond", "void"])),
        max_size=12,
    ),
    breaks=st.lists(st.builds(TimeBreak, MOMENTS, WORDS), min_size=1, max_size=4),
    width=st.sampled_from([330.0, 440.0, 700.0]),
)
def test_words_lie_inside_and_not_on_each_other(points: list[TimePoint], breaks: list[TimeBreak], width: float) -> None:
    svg = draw_time_chart(points, centre=None, limits=LIMITS, title="t", unit="a_w", breaks=breaks, width=width)
    root = ElementTree.fromstring(svg)
    across, high = map(float, root.get("viewBox", "").split()[2:])
    boxes = []
    for element in root.iter(f"{NS}text"):
        size, x, y = (float(element.get(key, "0")) for key in ("font-size", "x", "y"))
        wide = text_width(element.text or "", size)
        left = {"end": x - wide, "middle": x - wide / 2}.get(element.get("text-anchor", ""), x)
        boxes.append((left, left + wide, y - 0.7 * size, y + 0.2 * size))
    for left, right, top, bottom in boxes:
        assert left >= -0.6
        assert right <= across + 0.6
        assert top >= -0.6
        assert bottom <= high + 0.6
    for a, b in itertools.combinations(boxes, 2):
        assert a[1] <= b[0] + 0.6 or b[1] <= a[0] + 0.6 or a[3] <= b[2] + 0.6 or b[3] <= a[2] + 0.6


def test_the_table_is_in_time_order_with_the_events() -> None:
    assert time_chart_table(POINTS, BREAKS) == (
        TimeRow("2026-11-02 06:00", "+0.0010", "within", ""),
        TimeRow("2026-11-09 06:00", "−0.0120", "beyond", "syrup at the rim"),
        TimeRow("2026-11-10 06:00", "+0.0090", "void", "lid open"),
        TimeRow("2026-11-11 06:00", "", "event", "cleaned, adjusted"),
        TimeRow("2026-11-16 06:00", "+0.0020", "within", ""),
        TimeRow("2026-11-23 06:00", "+0.0030", "within", ""),
    )


@pytest.mark.parametrize(
    ("low", "high", "expected"),
    [
        (-0.0131, 0.0061, ["−0.010", "−0.005", "0", "+0.005"]),
        (-0.0003, 0.0009, ["−0.0002", "0", "+0.0002", "+0.0004", "+0.0006", "+0.0008"]),
        (-2.5, 7.0, ["−2", "0", "+2", "+4", "+6"]),
    ],
)
def test_ticks_of_the_deviation_are_steps_a_person_counts_in(low: float, high: float, expected: list[str]) -> None:
    assert [text for _, text in value_ticks(low, high)] == expected


def test_days_are_the_plants_own() -> None:
    berlin = ZoneInfo("Europe/Berlin")
    first, last = datetime(2026, 10, 23, 9, 0, tzinfo=berlin), datetime(2026, 10, 27, 9, 0, tzinfo=berlin)
    found = time_ticks(first, last)
    assert [text for _, text in found] == ["10-24", "10-25", "10-26", "10-27"]
    assert {at.hour for at, _ in found} == {0}  # also after the clock was put back


def test_what_cannot_be_drawn_is_refused() -> None:
    with pytest.raises(InputError):
        TimePoint(datetime(2026, 11, 2, 6, 0), 0.001)  # noqa: DTZ001 - that is the fault
    with pytest.raises(InputError):
        TimePoint(START, float("nan"))
    with pytest.raises(InputError):
        TimeLimits(0.005, -0.005)
    with pytest.raises(InputError):
        drawn([], [])
