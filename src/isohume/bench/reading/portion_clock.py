"""The portion's clock: how long a cup has stood open, lidded or wrapped in film, and whether that is too long."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import datetime
from typing import Literal, get_args

from isohume.foundation.quantity.errors import InputError, UnknownNameError

Cover = Literal["open", "lidded", "film-wrapped"]

OPEN_LIMIT_MIN = 10.0
"""A filled cup without a lid trades water with the room (common practice, no source)."""
LIDDED_LIMIT_H = 4.0
"""A lid holds for a few hours (common practice, no source)."""
FILM_LIMIT_H = 48.0
"""Sealing film around cup and lid holds for days (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class ClockLimits:
    """How long a portion may wait under each cover; the method sets them, the defaults are common practice."""

    open_min: float = OPEN_LIMIT_MIN
    lidded_h: float = LIDDED_LIMIT_H
    film_h: float = FILM_LIMIT_H

    def __post_init__(self) -> None:
        for name, value in (("open_min", self.open_min), ("lidded_h", self.lidded_h), ("film_h", self.film_h)):
            if not (value > 0 and math.isfinite(value)):
                raise InputError(name, value, "a finite time greater than zero")

    def minutes(self, cover: Cover) -> float:
        """The limit of a cover in minutes."""
        return {"open": self.open_min, "lidded": 60 * self.lidded_h, "film-wrapped": 60 * self.film_h}[cover]


@dataclass(frozen=True, slots=True)
class Clock:
    """How long a portion has waited under its cover, how long it still may, and what to do."""

    words: str
    minutes: float
    left_minutes: float
    over: bool
    reasons: tuple[str, ...]


DEFAULT_LIMITS = ClockLimits()

_DO_NEXT = {
    "open": "Read it or lid it at once",
    "lidded": "Wrap cup and lid in sealing film to let it wait longer",
    "film-wrapped": "Read it before then",
}


def judge_clock(cover: Cover, since: datetime, now: datetime, limits: ClockLimits = DEFAULT_LIMITS) -> Clock:
    """How long a portion has stood under its cover, and whether that is beyond the method's limit.

        minutes = now - since;  left = limit - minutes, never below zero;  over = minutes > limit
    cover: "open", "lidded" or "film-wrapped" [text].
    since: when this cover began [time].
    now: the moment of asking [time].
    limits: the method's limits of each cover [min, h].
    Returns: the Clock [min]; at the limit itself the portion is not yet over.
    Raises: UnknownNameError for another cover, InputError for a `since` after `now` or without an offset.
    Example: lidded at 06:00, asked at 08:05 -> "lidded for 2 h 05 min, 1 h 55 min left".
    Source: none (common practice: a lid holds for a few hours, film for longer; the method sets the limits).
    """
    if cover not in get_args(Cover):
        raise UnknownNameError("cover", cover, get_args(Cover))
    if (since.tzinfo is None) != (now.tzinfo is None):
        raise InputError("since", since.isoformat(), "a time with an offset where the present moment has one")
    minutes = (now - since).total_seconds() / 60
    if minutes < 0:
        raise InputError("since", since.isoformat(), f"at or before {now.isoformat()}")
    limit = limits.minutes(cover)
    over = minutes > limit
    how_long = f"{cover} for {in_hours(minutes)}"
    rule = f"The method lets a portion wait {in_hours(limit)} {cover}{_whose(cover, limit)}."
    if over:
        words = f"{how_long}, beyond the method's {in_hours(limit)}"
        reasons = (rule, "It may have dried or taken up water: take a fresh portion, or read it with the reason noted.")
    else:
        words = f"{how_long}, {in_hours(limit - minutes)} left"
        reasons = (rule, f"{_DO_NEXT[cover]}.")
    return Clock(words, minutes, max(limit - minutes, 0.0), over, reasons)


def in_hours(minutes: float) -> str:
    """Minutes as people say them; whole minutes, cut off so that no time is called passed before it has.

    minutes: a time, zero or more [min].
    Returns: such as "14 min", "2 h 05 min", "2 d 3 h" [text].
    Source: none.
    """
    whole = int(minutes)
    if whole < 60:
        return f"{whole} min"
    hours, rest = divmod(whole, 60)
    if hours < 48:
        return f"{hours} h {rest:02d} min" if rest else f"{hours} h"
    days, hours = divmod(hours, 24)
    return f"{days} d {hours} h" if hours else f"{days} d"


def _whose(cover: Cover, limit: float) -> str:
    return " (common practice, no source)" if limit == DEFAULT_LIMITS.minutes(cover) else ""
