"""What to do after a check, in the order of practice: as found first, adjusting last."""

from __future__ import annotations

from dataclasses import dataclass

from isohume.outlets.site.checks.models import Check, Cleaning
from isohume.outlets.site.checks.queries import WEIGHS


@dataclass(frozen=True, slots=True)
class Step:
    """One act: its words, whether it is done already, and the page it is done on ("" where it is no page's)."""

    words: str
    done: bool = False
    page: str = ""


def steps_after(check: Check, in_force: Check | None) -> list[Step]:
    """The acts that follow a check, those already done marked.

    in_force: the check that gives the instrument its standing now, or takes it away.
    """
    if check.passed and check.voided_at is None and in_force is not None and in_force.pk != check.pk:
        return [Step("Nothing: this check is past. What counts now stands beside this.")]
    if check.voided_at is not None:
        return [Step(f"Check {check.instrument} again: this check is void and protects nothing.", page="check_new")]
    if not check.passed:
        return _after_failure(check)
    if check.kind == "closing":
        return [Step("Shut down, cover the solutions, write the hand-over note.", page="today")]
    if not check.may_measure:
        return [Step("Read a second reference: one alone covers no range.", page="check_new")]
    return [
        Step("Measure within the range of the references that passed.", page="shift"),
        Step("After the last sample, close the day with a closing check.", page="check_new"),
    ]


def _after_failure(check: Check) -> list[Step]:
    """As found stays; repeat, fresh portion, clean, repeat, a second lot, and only then adjust or withdraw."""
    later = _until_it_passed(check)
    again = later[-1] if later and later[-1].may_measure else None
    cleaned = Cleaning.objects.filter(instrument=check.instrument_id, at__gt=check.last_read_at).order_by("at").first()
    if cleaned is not None and again is not None and cleaned.at > again.first_read_at:
        cleaned = None  # that one answered something else
    steps = [
        Step("Repeat the check once, as it is. The readings as found stay on record.", bool(later), "check_new"),
        Step("Read a fresh portion of the same reference.", page="check_new"),
        Step("Clean chamber, rim and sensor as the method says, and log it.", cleaned is not None, "cleaning_new"),
        Step("Repeat the check.", cleaned is not None and any(c.last_read_at > cleaned.at for c in later), "check_new"),
        Step("Read a second lot of the reference.", _another_lot(check, later), "check_new"),
        Step(
            "Only then adjust, or take the instrument out of use. Adjusting is not calibrating: "
            "it needs a reason, and a check before (as found) and after (as left)."
        ),
    ]
    if again is None:
        return steps
    passed = Step(f"{check.instrument} passed again: check {again.pk}.", True)
    left = Step("Decide about the lots read since the last good check, and close the deviation.", page="deviations")
    return [*(step for step in steps if step.done), passed, left]


def _until_it_passed(check: Check) -> list[Check]:
    """The checks that followed, up to the first that let the instrument measure again."""
    later = Check.objects.filter(WEIGHS, instrument=check.instrument_id, last_read_at__gt=check.last_read_at)
    found = []
    for one in later.order_by("last_read_at", "pk").prefetch_related("readings__bottle")[:12]:
        found.append(one)
        if one.kind == "opening" and one.may_measure:
            break
    return found


def _another_lot(check: Check, later: list[Check]) -> bool:
    used = set(check.readings.values_list("bottle__solution_lot", flat=True))
    return any(reading.bottle.solution_lot_id not in used for one in later for reading in one.readings.all())
