"""The page of a lot's positions: the answer first, the map, and what to do."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal

from isohume.bench.decision import LineOfMap, Strata, line_of_map, place_on_map, position_key
from isohume.bench.record.judge import JudgedLot
from isohume.outlets.paper.strata_chart import StrataSpec, StratumRow
from isohume.outlets.site.bench.models import Lot
from isohume.outlets.site.register.models import SpecificationVersion
from isohume.outlets.site.strata import positions_words as says
from isohume.outlets.site.strata.judged_now import judged_now
from isohume.outlets.site.strata.models import PositionMap
from isohume.outlets.site.strata.pictures import Drawn, strata_picture
from isohume.outlets.site.strata.queries import WhereToTake, map_of, where_to_take

Portions = tuple[tuple[str, Decimal], ...]
LONGEST = len("0.12345")


@dataclass(frozen=True, slots=True)
class Place:
    """A place with what was read there: its value and in which state it is, in words and by its mark."""

    name: str
    portions: tuple[Decimal, ...]
    value: Decimal | None
    word: str
    shape: str

    @property
    def shown(self) -> str:
        """The portions as typed; a corrected one has more digits than anybody reads."""
        return ", ".join(f"{x:.5f}" if len(str(x)) > LONGEST else str(x) for x in self.portions)


@dataclass(frozen=True, slots=True)
class MapRow:
    """A row of the map."""

    name: str
    places: tuple[Place, ...]


@dataclass(frozen=True, slots=True)
class PositionsPage:
    """Everything the page shows."""

    lot: Lot
    answer: str
    shape: str
    reasons: tuple[str, ...]
    todo: tuple[str, ...]
    map: PositionMap | None
    rows: tuple[MapRow, ...]
    elsewhere: tuple[Place, ...]
    picture: Drawn | None
    strata: Strata | None
    judged: JudgedLot | None
    lines: tuple[tuple[str, LineOfMap], ...]
    plan: WhereToTake | None


def positions_page(lot: Lot, now: datetime) -> PositionsPage:
    """The positions of a lot as the bench knows them now."""
    found = judged_now(lot, now)
    judged, strata = found.judged, found.judged.strata if found.judged else None
    known, plan = map_of(lot.product), where_to_take(lot)
    places = _places(found.portions, lot.specification, strata)
    answer, shape = says.answer(places, strata, judged)
    on_map = _rows(known, places) if known else ()
    taken = {place.name for row in on_map for place in row.places}
    return PositionsPage(
        lot=lot,
        answer=answer,
        shape=shape,
        reasons=(*found.refused, *(strata.reasons if strata else ())),
        todo=says.todo(strata, judged, places, plan),
        map=known,
        rows=on_map,
        elsewhere=tuple(place for place in places if place.name not in taken),
        picture=strata_picture(_spec(places, lot, judged)) if places else None,
        strata=strata,
        judged=judged,
        lines=_lines(known, found.portions, judged),
        plan=plan,
    )


def _places(portions: Portions, spec: SpecificationVersion, strata: Strata | None) -> list[Place]:
    """Every place that was read, the worst one first."""
    if strata is not None:
        return [
            Place(one.position, one.portions, one.found.value, *says.of_stratum(one, strata, spec))
            for one in strata.strata
        ]
    groups: dict[str, tuple[str, tuple[Decimal, ...]]] = {}
    for position, value in portions:
        name, before = groups.get(position_key(position), (position or "position not given", ()))
        groups[position_key(position)] = (name, (*before, value))
    places = [Place(name, xs, sum(xs, Decimal(0)) / len(xs), *says.of_values(xs, spec)) for name, xs in groups.values()]
    return sorted(places, key=lambda place: says.inside(place.value, spec))


def _rows(known: PositionMap, places: list[Place]) -> tuple[MapRow, ...]:
    """The map with what was read; a place that was not read says so."""
    read = {spot: place for place in places if (spot := place_on_map(place.name, known.rows, known.columns))}
    worst = {position_key(name) for name in known.worst}
    return tuple(
        MapRow(row, tuple(_at(read.get((row, column)), f"{row} {column}".strip(), worst) for column in columns))
        for columns in [known.columns or [""]]
        for row in known.rows
    )


def _at(place: Place | None, name: str, worst: set[str]) -> Place:
    if place is not None:
        return place
    return Place(name, (), None, "not read, expected worst" if position_key(name) in worst else "not read", "unknown")


def _spec(places: list[Place], lot: Lot, judged: JudgedLot | None) -> StrataSpec:
    rows = [
        StratumRow(
            place.name,
            tuple(float(x) for x in place.portions),
            None if place.value is None else float(place.value),
            f"{place.word}, n = {len(place.portions)}",
            says.is_mixture(place.name),
        )
        for place in places
    ]
    spec, accepted = lot.specification, judged.decision.acceptance if judged else (None, None)
    sides = ((spec.lower, False, accepted[0]), (spec.upper, True, accepted[1]))
    limits = [(float(value), upper, None if edge is None else float(edge)) for value, upper, edge in sides if value]
    return StrataSpec(f"Positions of lot {lot.code}", rows, limits)


def _lines(
    known: PositionMap | None, portions: Portions, judged: JudgedLot | None
) -> tuple[tuple[str, LineOfMap], ...]:
    """Rows and columns of the map against repeatability, where that is known."""
    s_r = judged.description.uncertainty.s_r if judged else None
    if known is None or s_r is None or judged is None:
        return ()
    rule = judged.description.specification.rule
    found = []
    for what, side in (("rows", 0), ("columns", 1)):
        values: dict[str, list[float]] = {}
        for position, x in portions:
            if spot := place_on_map(position, known.rows, known.columns):
                values.setdefault(spot[side], []).append(float(x))
        line = line_of_map(values, float(s_r), wetter_is_worse=rule.upper is not None)
        if line is not None:
            found.append((what, line))
    return tuple(found)
