"""What to do after a check, in the order of practice: as found first, adjusting last."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from isohume.bench.assurance import Step as Rule
from isohume.outlets.site.adjustments.sequence import failure_of, sequence_of
from isohume.outlets.site.checks.models import Check

PAGES = {
    "repeat": "check_new",
    "fresh portion": "check_sequence",
    "clean": "cleaning_new",
    "check after cleaning": "check_new",
    "second lot": "check_new",
    "adjust": "adjustments",
    "as left": "check_new",
    "withdraw": "instrument_act",
}
"""The page each step of the sequence is done on."""
OF_INSTRUMENT = ("check_new", "cleaning_new")
"""Pages that take the instrument in their query."""


@dataclass(frozen=True, slots=True)
class Step:
    """One act: its words, whether it is done, the page it is done on ("" where it is no page's), why not now."""

    words: str
    done: bool = False
    page: str = ""
    refused: str = ""


def steps_after(check: Check, in_force: Check | None, gives_none: Sequence[str] = ()) -> list[Step]:
    """The acts that follow a check, those already done marked.

    in_force: the check that gives the instrument its standing now, or takes it away.
    gives_none: why the check gives no standing although it passed.
    """
    if gives_none and check.voided_at is None and in_force is not None and in_force.last_read_at <= check.last_read_at:
        return [_answer_the_failure(check)]
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


def step_of(rule: Rule) -> Step:
    """A step of the sequence as a page shows it: where it is done, or why it is refused."""
    page = PAGES[rule.key] if rule.allowed and not rule.done else ""
    return Step(rule.words, rule.done, page, "" if rule.allowed or rule.done else rule.why)


def _answer_the_failure(check: Check) -> Step:
    """It passed and ends nothing: what failed is read again, all of it in one check."""
    what = check.left_out or "every reference that failed"
    return Step(f"Check {check.instrument} again, with {what} among the references.", page="check_new")


def _after_failure(check: Check) -> list[Step]:
    """As found stays; the sequence says what is done and what comes next."""
    found = sequence_of(failure_of(check))
    steps = [step_of(rule) for rule in found.steps]
    if found.passed is None:
        return steps
    passed = Step(f"{check.instrument} passed again: {found.passed.name}.", True)
    left = Step("Decide about the lots read since the last good check, and close the deviation.", page="deviations")
    return [*(step for step in steps if step.done), passed, left]
