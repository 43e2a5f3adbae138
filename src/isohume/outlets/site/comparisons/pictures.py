"""The pictures of the comparisons, each with the rows that say the same."""

from __future__ import annotations

from collections.abc import Sequence

from markupsafe import Markup

from isohume.outlets.paper.xy_chart import draw_xy
from isohume.outlets.paper.xy_spec import Mark, XyLine, XyPoint, XySpec
from isohume.outlets.site.comparisons.agreement import Agreement, signed
from isohume.outlets.site.comparisons.models import ProficiencyRound
from isohume.outlets.site.comparisons.pairs import Pair
from isohume.outlets.site.comparisons.rounds import SHAPES, WORDS
from isohume.outlets.site.look.screen_line import ACROSS, ACROSS_SMALL, FAMILY, FONT_SIZE

DASHED, DOTTED, LONG = "7 3", "2 3", "12 4"
READERS: tuple[Mark, ...] = ("dot", "square", "triangle", "lozenge", "ring", "cross")
_OF_WORD: dict[str, Mark] = {"acceptable": "dot", "warning": "triangle", "action": "cross"}


def drawn(spec: XySpec) -> Markup:
    """The drawing for a wide page and for a small one."""
    pictures = (
        draw_xy(spec, width, FONT_SIZE, FAMILY).replace("<svg ", f'<svg class="{name}" ', 1)
        for name, width in (("across", ACROSS), ("across-small", ACROSS_SMALL))
    )
    return Markup("".join(pictures))  # every text of a drawing is escaped where it is drawn (line_marks.words)


def differences_picture(pairs: Sequence[Pair], found: Agreement, first: str, second: str) -> Markup:
    """The difference of each pair against its mean, with mean difference and limits of agreement."""
    paired = found.paired
    levels = (
        XyLine("mean difference", ((0, paired.mean),), "", 1.8),
        XyLine("limits of agreement", ((0, paired.agreement_low),), DASHED),
        XyLine("", ((0, paired.agreement_high),), DASHED),
        XyLine("allowed for the mean", ((0, found.allowed),), DOTTED),
        XyLine("", ((0, -found.allowed),), DOTTED),
    )
    return drawn(
        XySpec(
            title=f"Differences of {first} and {second}",
            x_title=f"mean of both, a_w ({len(pairs)} materials)",
            y_title=f"{first} minus {second}, a_w",
            points=tuple(XyPoint(p.mean, p.difference) for p in pairs),
            levels=levels,
            mark_names=(("dot", "a material"),),
            signed=True,
        )
    )


def line_picture(pairs: Sequence[Pair], found: Agreement, first: str, second: str) -> Markup | None:
    """Second against first with the line of equality and Deming's line."""
    if found.line is None:
        return None
    low = min(min(p.first, p.second) for p in pairs)
    high = max(max(p.first, p.second) for p in pairs)
    fit = found.line
    lines = (
        XyLine("line of equality", ((low, low), (high, high)), DASHED),
        XyLine("Deming regression", tuple((x, fit.offset + fit.slope * x) for x in (low, high)), "", 1.6),
    )
    points = tuple(XyPoint(p.first, p.second) for p in pairs)
    title = f"{second} against {first}"
    return drawn(XySpec(title, f"{first}, a_w", f"{second}, a_w", points, lines, mark_names=(("dot", "a material"),)))


def pair_rows(pairs: Sequence[Pair]) -> list[tuple[str, str, str, str]]:
    """The pairs as rows."""
    return [(p.what, f"{p.first:.4f}", f"{p.second:.4f}", signed(p.difference)) for p in pairs]


def rounds_picture(rounds: Sequence[ProficiencyRound]) -> Markup:
    """Every round's z in the order of time, with the levels of warning and action."""
    names = tuple(one.round for one in rounds)
    points = tuple(XyPoint(i, one.z, _OF_WORD[one.word]) for i, one in enumerate(rounds, start=1))
    levels = (
        XyLine("", ((0, 0.0),), "", 0.8),
        XyLine("warning from 2 on", ((0, 2.0),), DASHED),
        XyLine("", ((0, -2.0),), DASHED),
        XyLine("action from 3 on", ((0, 3.0),), "", 2.2),
        XyLine("", ((0, -3.0),), "", 2.2),
    )
    named: tuple[tuple[Mark, str], ...] = tuple((_OF_WORD[word], WORDS[word]) for word in SHAPES)
    return drawn(XySpec("z of each round", "round", "z", points, (), levels, names, named, signed=True))


def gauge_picture(readings: Sequence[Sequence[str]]) -> Markup:
    """Every reading over its part; who read it is told by the shape."""
    parts = list(dict.fromkeys(part for part, _, _ in readings))
    readers = list(dict.fromkeys(who for _, who, _ in readings))
    shapes = {who: READERS[i % len(READERS)] for i, who in enumerate(readers)}
    aside = {who: (i - (len(readers) - 1) / 2) * 0.6 / max(len(readers), 2) for i, who in enumerate(readers)}
    points = tuple(XyPoint(parts.index(p) + 1 + aside[who], float(x), shapes[who]) for p, who, x in readings)
    named = tuple((shapes[who], who) for who in readers[: len(READERS)])
    return drawn(XySpec("Readings of each part", "part", "a_w", points, (), (), tuple(parts), named))


def sites_picture(rows: Sequence[dict[str, str]]) -> Markup:
    """Each site's mean with two standard deviations of it either way; ours is the open square."""
    points = []
    for i, row in enumerate(rows, start=1):
        mean, half = float(row["mean"]), 2 * float(row["s"]) / int(row["n"]) ** 0.5
        points.append(XyPoint(i, mean, "square" if i == 1 else "dot", mean - half, mean + half))
    levels = (XyLine("our mean", ((0, float(rows[0]["mean"])),), DASHED),)
    names: tuple[tuple[Mark, str], ...] = (("square", "ours"), ("dot", "another site"))
    sites = tuple(row["site"] for row in rows)
    return drawn(XySpec("Means of the sites", "site", "a_w", tuple(points), (), levels, sites, names))
