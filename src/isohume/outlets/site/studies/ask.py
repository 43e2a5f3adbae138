"""Ask an isotherm: moisture at an a_w, a_w at a moisture; refused outside what it was measured for."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any

from isohume.foundation.quantity.errors import InputError, shown
from isohume.outlets.site.studies import hows
from isohume.outlets.site.studies.answers import (
    moisture_at,
    read_a_w_limit,
    read_level,
    read_moisture,
    same_temperature,
    water_activity_at,
)
from isohume.outlets.site.studies.words import a_w_interval, moisture, moisture_interval
from isohume.product.sorption.point_file import DIRECTIONS

FIELDS = ("ask_a_w", "ask_moisture", "ask_basis", "ask_direction", "ask_temperature_c", "ask_formula", "ask_level")


@dataclass
class Asked:
    """What was asked, answered or refused."""

    facts: list[tuple[str, str, dict[str, Any]]] = field(default_factory=list)
    reasons: list[str] = field(default_factory=list)
    errors: dict[str, str] = field(default_factory=dict)

    @property
    def anything(self) -> bool:
        """Whether there is something to say."""
        return bool(self.facts or self.reasons or self.errors)


def ask(one: Mapping[str, Any], formula_version: str, typed: Mapping[str, str]) -> Asked:
    """Answer what a form asks of a fitted set.

    typed: the form's fields, blank where nothing is asked.
    """
    asked = Asked()
    if not typed.get("ask_a_w", "").strip() and not typed.get("ask_moisture", "").strip():
        return asked
    _tried(asked, lambda: asked.reasons.extend(_other(one, formula_version, typed)))
    if asked.reasons or asked.errors:
        return asked
    level = typed.get("ask_level") or "95"
    _tried(asked, lambda: read_level(level))
    if not asked.errors:
        _tried(asked, lambda: _moisture(asked, one, typed, level))
        _tried(asked, lambda: _a_w(asked, one, typed, level))
    return asked


def _tried(asked: Asked, what: Callable[[], object]) -> None:
    try:
        what()
    except InputError as error:
        named = error.field if error.field.startswith("ask_") else f"ask_{error.field}"
        asked.errors[named] = f"read {shown(error.value)}; allowed: {error.allowed}"


def _other(one: Mapping[str, Any], formula_version: str, typed: Mapping[str, str]) -> list[str]:
    """Why it does not speak about what is asked: another direction, temperature or formula version."""
    reasons = []
    direction = typed.get("ask_direction") or one["direction"]
    if direction not in DIRECTIONS:
        raise InputError("ask_direction", direction, " or ".join(DIRECTIONS))
    if direction != one["direction"]:
        reasons.append(f"It was measured in {one['direction']}; in {direction} the same a_w has another moisture.")
    reasons += same_temperature(
        typed.get("ask_temperature_c") or one["temperature_c"], one["temperature_c"], "ask_temperature_c"
    )
    formula = (typed.get("ask_formula") or formula_version).strip()
    if formula != formula_version:
        reasons.append(f"It was measured on formula version {formula_version}; about {formula} it says nothing.")
    return reasons


def _moisture(asked: Asked, one: Mapping[str, Any], typed: Mapping[str, str], level: str) -> None:
    if text := typed.get("ask_a_w", "").strip():
        found = moisture_at(one, read_a_w_limit(text, "ask_a_w"), level, "ask_a_w")
        asked.facts.append((f"Moisture at a_w {text}", moisture_interval(found), hows.of_curve(one, level)))


def _a_w(asked: Asked, one: Mapping[str, Any], typed: Mapping[str, str], level: str) -> None:
    if text := typed.get("ask_moisture", "").strip():
        dry = read_moisture(text, typed.get("ask_basis") or "moisture_wb_percent", "ask_moisture")
        found = water_activity_at(one, dry, level, "ask_moisture")
        how = hows.of_curve(one, level)
        asked.facts.append((f"a_w at {moisture(dry)}", a_w_interval(found), how))
