"""What the page of a look-back says: the answer, each lot with its numbers before and after, what is to be done."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from datetime import datetime

from isohume.bench.assurance.look_back import PastCheck, Window
from isohume.bench.decision.look_back import ResultAtRisk
from isohume.outlets.site.bench.models import Lot
from isohume.outlets.site.bench.moments import plant_day, shown_at
from isohume.outlets.site.checks.models import Check
from isohume.outlets.site.checks.window_of_check import late_checks
from isohume.outlets.site.lookback.actions.hold_list import held_of, to_hold
from isohume.outlets.site.lookback.models import HeldLot, ListHold
from isohume.outlets.site.lookback.queries import Looked, looked_back
from isohume.outlets.site.lookback.whereabouts import Whereabouts, whereabouts_of
from isohume.outlets.site.lookback.words import beyond_words
from isohume.outlets.site.lots.models import LotRecord
from isohume.outlets.site.lots.shapes import shape_of_verdict
from isohume.outlets.site.register.models import Method

SHAPES = {"released": "pass", "rejected": "fail", "on hold": "hold", "judged": "wait", "open": "run"}


@dataclass(frozen=True, slots=True)
class Row:
    """A lot of the list: its result before and after, where it is, and the act that held it."""

    result: ResultAtRisk
    lot: Lot
    record: LotRecord | None
    where: Whereabouts
    held: HeldLot | None
    retest: str

    @property
    def state_shape(self) -> str:
        """The mark beside the lot's state."""
        return SHAPES.get(self.lot.state, "unknown")

    @property
    def before_shape(self) -> str:
        """The mark beside the verdict of that day."""
        if self.record is None:
            return "unknown"
        return shape_of_verdict(self.record.verdict, self.record.disposition, "")

    @property
    def after_shape(self) -> str:
        """The mark beside the verdict on the corrected value; never that of a release."""
        if self.result.beyond:
            return "fail"
        return "info" if self.result.decision.verdict == "pass" else "hold"


@dataclass(frozen=True, slots=True)
class LookBackPage:
    """Everything the page and the sheet show."""

    check: Check
    looked: Looked
    rows: list[Row]
    beside: list[Row]
    holds: list[ListHold]
    waiting: list[Lot]  # what one act would hold now
    late: list[Check]  # passed before it, entered after it
    methods: dict[int, str]  # the names of the methods beside its own that its instrument was checked under

    @property
    def answer(self) -> str:
        """How many lots, how many beyond."""
        n, back = len(self.rows), self.looked.back
        if not n:
            return "No lot is at risk"
        return f"{n} lot{'' if n == 1 else 's'}, {beyond_words(back.beyond, back.doubted)}"

    @property
    def states(self) -> str:
        """What became of them, in words."""
        counted = Counter(row.lot.state for row in self.rows)
        return ", ".join(f"{n} {state}" for state, n in counted.most_common())

    @property
    def shipped(self) -> list[Row]:
        """The lots of which something left the house."""
        return [row for row in self.rows if row.where.shipped]

    def moment(self, at: datetime | None) -> str:
        """A moment in the plant's time, with its offset where the clocks showed it twice."""
        return "not known" if at is None else shown_at(at, self.check.instrument.site)

    @property
    def window(self) -> list[str]:
        """From which check to which, in sentences."""
        window, name = self.looked.back.window, self.check.instrument.name
        last, zone = window.last_good, self.moment
        if last is None:
            said = [f"No check of {name} about this range passed before: everything read on it is looked at."]
        else:
            said = [
                f"{name} last passed in {_kind(last)} of {zone(last.first_read_at)}: what was read before it stands."
            ]
        if window.since is None and last is not None:
            said.append(
                "The checks before do not cover the whole range that failed; nothing protects what was read before."
            )
        elif last is not None and window.since != last.first_read_at:
            said.append(f"For the whole range that failed one goes back to {zone(window.since)}.")
        if last is not None and last.kind == "closing":
            said.append("It was a closing check: without it the list would be longer.")
        elif last is not None and not self.late:
            said.append("No closing check lies between: with a passed one, what was read before it would not be here.")
        said += [self._late(one) for one in self.late]
        said += [self._of_other(method, named) for method, named in self.methods.items()]
        return [*said, self._until]

    def _late(self, late: Check) -> str:
        """Why a check that passed does not shrink the list: it may be honest, and could not be told from another."""
        return (
            f"The {late.kind} check {late.pk} of {self.moment(late.last_read_at)} passed, but was entered at "
            f"{self.moment(late.entered_at)}, after check {self.check.pk} was entered as failed "
            f"({self.moment(self.check.entered_at)}): it does not shrink the list."
        )

    def _of_other(self, method: int, named: str) -> str:
        since = self.looked.back.window.since_of(method)
        begun = "from the beginning" if since is None else f"since {self.moment(since)}"
        return f"What was read under {named} is looked at {begun}: only checks under the same method protect it."

    @property
    def _until(self) -> str:
        window, zone = self.looked.back.window, self.moment
        if window.until is not None:
            return f"It failed at {zone(self.check.first_read_at)} and passed again at {zone(window.until)}."
        if window.good_after(window.failed.method):
            return "No check since covers the whole range: what is read now beyond their references is on the list too."
        return "No check has passed since: what is read now is on the list too."

    @property
    def ranges(self) -> str:
        """Where it failed, in a_w."""
        if not self.looked.back.window.references:
            return "everywhere"
        spans: list[tuple[float, float]] = []
        for low, high in self.looked.back.window.failed_ranges:
            joined = spans and spans[-1][1] == low
            spans[-1:] = [(spans[-1][0], high)] if joined else [*spans[-1:], (low, high)]
        said = [f"{low:.4f} to {high:.4f}" if low < high else f"about {low:.4f}" for low, high in spans]
        return f"{'; '.join(said)}, and what lies beyond the outermost references"


def _kind(check: PastCheck) -> str:
    return f"the {check.kind} check {check.id}"


def _other_methods(window: Window) -> dict[int, str]:
    others = [method for method in window.methods if method != window.failed.method]
    named = Method.objects.in_bulk(others) if others else {}
    return {method: named[method].name for method in others}


def look_back_page(check: Check, now: datetime) -> LookBackPage:
    """The page of a failed check.

    Raises: InputError where the check passed or is void.
    """
    looked = looked_back(check)
    lots = [found.lot for found in looked.found.values()]
    where = whereabouts_of(lots)
    by_lot = {one.lot_id: one for one in held_of(check)}
    today = plant_day(now, check.instrument.site)

    def row(result: ResultAtRisk) -> Row:
        found = looked.of(result)
        place = where[found.lot.pk]
        return Row(result, found.lot, found.record, place, by_lot.get(found.lot.pk), place.retest(today))

    return LookBackPage(
        check=check,
        looked=looked,
        rows=[row(result) for result in looked.back.results],
        beside=[row(result) for result in looked.back.beside],
        holds=list(check.list_holds.select_related("by").prefetch_related("lots__lot").order_by("pk")),
        waiting=to_hold(looked),
        late=late_checks(check, looked.back.window),
        methods=_other_methods(looked.back.window),
    )
