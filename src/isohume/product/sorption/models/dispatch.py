"""Which model a kernel calls: written by builders/model_dispatch.py, one branch for each file here."""

from __future__ import annotations

import math

from isohume.product.sorption.kernels.compiled import inlined
from isohume.product.sorption.models import (
    bet,
    caurie,
    chung_pfost,
    ferro_fontan,
    gab,
    gab_arrhenius,
    hailwood_horrobin,
    hailwood_horrobin_two,
    halsey,
    henderson,
    iglesias_chirife,
    lewicki,
    linear,
    modified_chung_pfost,
    modified_halsey,
    modified_henderson,
    modified_oswin,
    oswin,
    oswin_linear,
    peleg,
    smith,
)

MODULES = (
    bet,
    caurie,
    chung_pfost,
    ferro_fontan,
    gab,
    gab_arrhenius,
    hailwood_horrobin,
    hailwood_horrobin_two,
    halsey,
    henderson,
    iglesias_chirife,
    lewicki,
    linear,
    modified_chung_pfost,
    modified_halsey,
    modified_henderson,
    modified_oswin,
    oswin,
    oswin_linear,
    peleg,
    smith,
)


@inlined
def features(k, a, t, g):
    """The parts of model k's equation that no parameter changes."""
    if k == 0:
        bet.features(a, t, g)
    elif k == 1:
        caurie.features(a, t, g)
    elif k == 2:
        chung_pfost.features(a, t, g)
    elif k == 3:
        ferro_fontan.features(a, t, g)
    elif k == 4:
        gab.features(a, t, g)
    elif k == 5:
        gab_arrhenius.features(a, t, g)
    elif k == 6:
        hailwood_horrobin.features(a, t, g)
    elif k == 7:
        hailwood_horrobin_two.features(a, t, g)
    elif k == 8:
        halsey.features(a, t, g)
    elif k == 9:
        henderson.features(a, t, g)
    elif k == 10:
        iglesias_chirife.features(a, t, g)
    elif k == 11:
        lewicki.features(a, t, g)
    elif k == 12:
        linear.features(a, t, g)
    elif k == 13:
        modified_chung_pfost.features(a, t, g)
    elif k == 14:
        modified_halsey.features(a, t, g)
    elif k == 15:
        modified_henderson.features(a, t, g)
    elif k == 16:
        modified_oswin.features(a, t, g)
    elif k == 17:
        oswin.features(a, t, g)
    elif k == 18:
        oswin_linear.features(a, t, g)
    elif k == 19:
        peleg.features(a, t, g)
    elif k == 20:
        smith.features(a, t, g)


@inlined
def basis(k, g, theta, rows):
    """Model k's functions and their derivatives."""
    if k == 0:
        bet.basis(g, theta, rows)
    elif k == 1:
        caurie.basis(g, theta, rows)
    elif k == 2:
        chung_pfost.basis(g, theta, rows)
    elif k == 3:
        ferro_fontan.basis(g, theta, rows)
    elif k == 4:
        gab.basis(g, theta, rows)
    elif k == 5:
        gab_arrhenius.basis(g, theta, rows)
    elif k == 6:
        hailwood_horrobin.basis(g, theta, rows)
    elif k == 7:
        hailwood_horrobin_two.basis(g, theta, rows)
    elif k == 8:
        halsey.basis(g, theta, rows)
    elif k == 9:
        henderson.basis(g, theta, rows)
    elif k == 10:
        iglesias_chirife.basis(g, theta, rows)
    elif k == 11:
        lewicki.basis(g, theta, rows)
    elif k == 12:
        linear.basis(g, theta, rows)
    elif k == 13:
        modified_chung_pfost.basis(g, theta, rows)
    elif k == 14:
        modified_halsey.basis(g, theta, rows)
    elif k == 15:
        modified_henderson.basis(g, theta, rows)
    elif k == 16:
        modified_oswin.basis(g, theta, rows)
    elif k == 17:
        oswin.basis(g, theta, rows)
    elif k == 18:
        oswin_linear.basis(g, theta, rows)
    elif k == 19:
        peleg.basis(g, theta, rows)
    elif k == 20:
        smith.basis(g, theta, rows)


@inlined
def natural(k, c, theta, p, dp):
    """Model k's printed parameters, and their derivatives by (c, theta)."""
    if k == 0:
        bet.natural(c, theta, p, dp)
    elif k == 1:
        caurie.natural(c, theta, p, dp)
    elif k == 2:
        chung_pfost.natural(c, theta, p, dp)
    elif k == 3:
        ferro_fontan.natural(c, theta, p, dp)
    elif k == 4:
        gab.natural(c, theta, p, dp)
    elif k == 5:
        gab_arrhenius.natural(c, theta, p, dp)
    elif k == 6:
        hailwood_horrobin.natural(c, theta, p, dp)
    elif k == 7:
        hailwood_horrobin_two.natural(c, theta, p, dp)
    elif k == 8:
        halsey.natural(c, theta, p, dp)
    elif k == 9:
        henderson.natural(c, theta, p, dp)
    elif k == 10:
        iglesias_chirife.natural(c, theta, p, dp)
    elif k == 11:
        lewicki.natural(c, theta, p, dp)
    elif k == 12:
        linear.natural(c, theta, p, dp)
    elif k == 13:
        modified_chung_pfost.natural(c, theta, p, dp)
    elif k == 14:
        modified_halsey.natural(c, theta, p, dp)
    elif k == 15:
        modified_henderson.natural(c, theta, p, dp)
    elif k == 16:
        modified_oswin.natural(c, theta, p, dp)
    elif k == 17:
        oswin.natural(c, theta, p, dp)
    elif k == 18:
        oswin_linear.natural(c, theta, p, dp)
    elif k == 19:
        peleg.natural(c, theta, p, dp)
    elif k == 20:
        smith.natural(c, theta, p, dp)


@inlined
def curve(k, a, t, p, out):
    """Moisture, slope and derivatives by the printed parameters of model k."""
    if k == 0:
        bet.curve(a, t, p, out)
    elif k == 1:
        caurie.curve(a, t, p, out)
    elif k == 2:
        chung_pfost.curve(a, t, p, out)
    elif k == 3:
        ferro_fontan.curve(a, t, p, out)
    elif k == 4:
        gab.curve(a, t, p, out)
    elif k == 5:
        gab_arrhenius.curve(a, t, p, out)
    elif k == 6:
        hailwood_horrobin.curve(a, t, p, out)
    elif k == 7:
        hailwood_horrobin_two.curve(a, t, p, out)
    elif k == 8:
        halsey.curve(a, t, p, out)
    elif k == 9:
        henderson.curve(a, t, p, out)
    elif k == 10:
        iglesias_chirife.curve(a, t, p, out)
    elif k == 11:
        lewicki.curve(a, t, p, out)
    elif k == 12:
        linear.curve(a, t, p, out)
    elif k == 13:
        modified_chung_pfost.curve(a, t, p, out)
    elif k == 14:
        modified_halsey.curve(a, t, p, out)
    elif k == 15:
        modified_henderson.curve(a, t, p, out)
    elif k == 16:
        modified_oswin.curve(a, t, p, out)
    elif k == 17:
        oswin.curve(a, t, p, out)
    elif k == 18:
        oswin_linear.curve(a, t, p, out)
    elif k == 19:
        peleg.curve(a, t, p, out)
    elif k == 20:
        smith.curve(a, t, p, out)


@inlined
def part(k, g, h, place, row):
    """What coordinate h alone makes of the points at a place of its axis, where it does."""
    if k == 11:
        lewicki.part(g, h, place, row)
    elif k == 19:
        peleg.part(g, h, place, row)


@inlined
def inverse(k, x, t, p):
    """The a_w of a moisture in closed form, nan where model k has none."""
    if k == 0:
        return bet.inverse(x, t, p)
    if k == 1:
        return caurie.inverse(x, t, p)
    if k == 2:
        return chung_pfost.inverse(x, t, p)
    if k == 3:
        return ferro_fontan.inverse(x, t, p)
    if k == 4:
        return gab.inverse(x, t, p)
    if k == 5:
        return gab_arrhenius.inverse(x, t, p)
    if k == 6:
        return hailwood_horrobin.inverse(x, t, p)
    if k == 7:
        return hailwood_horrobin_two.inverse(x, t, p)
    if k == 8:
        return halsey.inverse(x, t, p)
    if k == 9:
        return henderson.inverse(x, t, p)
    if k == 10:
        return iglesias_chirife.inverse(x, t, p)
    if k == 11:
        return lewicki.inverse(x, t, p)
    if k == 12:
        return linear.inverse(x, t, p)
    if k == 13:
        return modified_chung_pfost.inverse(x, t, p)
    if k == 14:
        return modified_halsey.inverse(x, t, p)
    if k == 15:
        return modified_henderson.inverse(x, t, p)
    if k == 16:
        return modified_oswin.inverse(x, t, p)
    if k == 17:
        return oswin.inverse(x, t, p)
    if k == 18:
        return oswin_linear.inverse(x, t, p)
    if k == 19:
        return peleg.inverse(x, t, p)
    if k == 20:
        return smith.inverse(x, t, p)
    return math.nan
