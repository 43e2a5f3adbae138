"""After a failed check: which steps are done, which come next, and what is refused with its reason.

The order is practice: repeat once, fresh portion of the reference, clean, check again, second lot of the reference,
and only then adjust or withdraw. A careful step may come earlier; nothing careful may be left out before adjusting.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime
from typing import Literal

from isohume.bench.assurance.answered import Answer, CheckFact, answers

StepKey = Literal[
    "repeat", "fresh portion", "clean", "check after cleaning", "second lot", "adjust", "as left", "withdraw"
]


@dataclass(frozen=True, slots=True)
class Facts:
    """What happened since a check failed.

    `failing` are the solutions that were not within; times without their objects are enough, since order decides.
    `later` is in the order of the last readings.
    """

    failed: CheckFact
    failing: frozenset[str]
    later: tuple[CheckFact, ...] = ()
    fresh_portions: tuple[datetime, ...] = ()
    cleanings: tuple[datetime, ...] = ()
    adjustments: tuple[datetime, ...] = ()
    in_use: bool = True

    @property
    def cleaned(self) -> tuple[datetime, ...]:
        """The cleanings after the failure; earlier ones answered something else."""
        return tuple(at for at in self.cleanings if at > self.failed.last_read_at)

    @property
    def answered(self) -> tuple[tuple[CheckFact, Answer], ...]:
        """The later checks, each with what it says to the failure."""
        began = replace(self.failed, failed=True, failing=self.failing | self.failed.failing)
        return tuple(zip(self.later, list(answers((began, *self.later)))[1:], strict=True))

    @property
    def ended_by(self) -> CheckFact | None:
        """The first check that lets the instrument measure again, having read every solution that failed."""
        return next((check for check, answer in self.answered if answer.counts), None)

    @property
    def taken(self) -> tuple[CheckFact, ...]:
        """The later checks without those that passed and left out what failed: these are no step of the sequence."""
        return tuple(check for check, answer in self.answered if not _passed_over(answer))


@dataclass(frozen=True, slots=True)
class Step:
    """One step: its words, whether it is done and by what, whether it may be done now, and why or why not."""

    key: StepKey
    words: str
    done: bool
    allowed: bool
    why: str


@dataclass(frozen=True, slots=True)
class Sequence:
    """All steps in order, the ones that may be done now, and the check that ended it (None while it is open)."""

    steps: tuple[Step, ...]
    next: tuple[Step, ...]
    passed: CheckFact | None

    @property
    def recommended(self) -> Step | None:
        """The step that practice would take now; a fresh portion is past once the instrument was cleaned."""
        cleaned = any(step.key == "clean" and step.done for step in self.steps)
        open_steps = {step.key: step for step in self.next}
        for key in _IN_PRACTICE:
            if key in open_steps and not (key == "fresh portion" and cleaned):
                return open_steps[key]
        return None


_IN_PRACTICE: tuple[StepKey, ...] = (
    "as left", "check after cleaning", "adjust", "repeat", "fresh portion", "clean", "second lot", "withdraw",
)  # fmt: skip

WORDS: dict[StepKey, str] = {
    "repeat": "Repeat the check once, as it is. The readings as found stay on record.",
    "fresh portion": "Read a fresh portion of the same reference, and log that it was poured.",
    "clean": "Clean chamber, rim and sensor as the method says, and log it.",
    "check after cleaning": "Repeat the check.",
    "second lot": "Read a second lot of the reference that failed.",
    "adjust": (
        "Only then adjust, with the reason. Adjusting is not calibrating: what was found before and what is left after "
        "are both kept."
    ),
    "as left": "Read the as-left check: until it passes the instrument has no standing.",
    "withdraw": "Or take the instrument out of use, label it, and look at what it affected.",
}


def after_failure(facts: Facts) -> Sequence:
    """The guided sequence after a failed check.

    facts: what happened since [time].
    Returns: the Sequence [text]; once a check read all that failed and passed only withdrawing stays open.
    Example: failed, cleaned, not yet checked -> next is the check; adjusting is refused.
    Source: ISO17025, 6.4.9 (the order is common practice, no source).
    """
    passed = facts.ended_by
    steps = (
        _repeat(facts, passed),
        _fresh_portion(facts, passed),
        _clean(facts, passed),
        _check_after_cleaning(facts, passed),
        _second_lot(facts, passed),
        *_adjust(facts, passed),
        Step("withdraw", WORDS["withdraw"], not facts.in_use, facts.in_use, "It may be done at any time."),
    )
    following = () if passed is not None else tuple(step for step in steps if step.allowed and not step.done)
    return Sequence(steps, following, passed)


def reasons_against_adjusting(facts: Facts) -> tuple[str, ...]:
    """Why the instrument may not be adjusted, or its readings corrected, now.

    facts: what happened since the check failed [time].
    Returns: every reason, none where it may [text].
    Source: none (common practice: an adjustment must not hide dirt or a wrong reference).
    """
    passed = facts.ended_by
    if passed is not None:
        return (f"{_named(passed)} let the instrument measure again: there is nothing to adjust.",)
    since, event = _adjusting_counts_from(facts)
    if facts.adjustments and not _checks_from(facts, since):
        return ("The last adjustment has no as-left check yet: read it first.",)
    reasons = []
    cleaned = [at for at in facts.cleaned if at > since]
    if not cleaned:
        reasons.append(f"No cleaning is logged after {event}: clean first, or the dirt is adjusted away.")
    elif not any(check.failed for check in _checks_from(facts, min(cleaned))):
        reasons.append("No check failed after the cleaning: check again first, the cleaning may have been enough.")
    if not _second_lot_checks(facts):
        reasons.append(
            "Only one lot of the reference that failed was read: read a second lot first, "
            "the reference may be wrong and not the instrument."
        )
    return tuple(reasons)


def reasons_against_repeating(facts: Facts, lots: frozenset[tuple[str, str]] = frozenset()) -> tuple[str, ...]:
    """Why the check may not be read again now: once as it is, and then only after a step that changed something.

    facts: what happened since the check failed [time].
    lots: the lots that would be read, as pairs of solution and lot [text].
    Returns: the reason, none where it may [text].
    Source: none (common practice: no testing until it passes).
    """
    if facts.ended_by is not None or _is_second_lot(facts, lots, facts.later):
        return ()
    step = _last_step(facts)
    since = [check for check in (facts.taken if step is None else _checks_from(facts, step)) if check.failed]
    if not since:
        return ()
    last = since[-1]
    return (
        f"{_named(facts.failed)} failed and {last.name} was read after it with nothing changed in between: "
        "a further repeat needs a step first, a fresh portion, a cleaning, or a second lot of the reference.",
    )


def _last_step(facts: Facts) -> datetime | None:
    """When something was last changed: portion, cleaning, adjustment, or a lot not read before."""
    second = [check.first_read_at for check in _second_lot_checks(facts)]
    return max((*facts.fresh_portions, *facts.cleaned, *facts.adjustments, *second), default=None)


def _checks_from(facts: Facts, at: datetime) -> tuple[CheckFact, ...]:
    return tuple(check for check in facts.taken if check.first_read_at >= at)


def _adjusting_counts_from(facts: Facts) -> tuple[datetime, str]:
    """Cleaning must come after the failure, and after an adjustment that did not help."""
    if facts.adjustments:
        return max(facts.adjustments), "the last adjustment"
    return facts.failed.last_read_at, f"{facts.failed.name} failed"


def _second_lot_checks(facts: Facts) -> tuple[CheckFact, ...]:
    """The later checks that were the first to read another lot of a solution that failed."""
    return tuple(check for i, check in enumerate(facts.later) if _is_second_lot(facts, check.lots, facts.later[:i]))


def _is_second_lot(facts: Facts, lots: frozenset[tuple[str, str]], before: tuple[CheckFact, ...]) -> bool:
    known = set(facts.failed.lots).union(*(check.lots for check in before))
    return any(solution in facts.failing and (solution, lot) not in known for solution, lot in lots)


def _passed_over(answer: Answer) -> bool:
    return bool(answer.left_out or answer.beside)


def _said_nothing(facts: Facts) -> str:
    """Why the last check that passed ends nothing."""
    found = [pair for pair in facts.answered if _passed_over(pair[1])]
    if not found:
        return ""
    check, answer = found[-1]
    return f"{_named(check)} passed, but {against_answer(answer)}"


def against_answer(answer: Answer) -> str:
    """Why a check that passed gives no standing while a failure is open, as the end of a sentence.

    answer: what it says to the failure [text].
    Returns: the words, none where it counts or failed itself [text].
    Source: none.
    """
    if answer.left_out:
        names = ", ".join(sorted(answer.left_out))
        return f"did not read {names}, which failed before: read all that failed in one check, of any lot or bottle."
    return f"began before {answer.beside} had ended: check again after it." if answer.beside else ""


def _named(check: CheckFact) -> str:
    return check.name[:1].upper() + check.name[1:]


def _repeat(facts: Facts, passed: CheckFact | None) -> Step:
    done = bool(facts.taken)
    if done:
        why = f"{_named(facts.taken[0])} repeated it."
    elif said := _said_nothing(facts):
        why = said
    elif _last_step(facts) is not None:
        why = "Something was changed already: what comes next is a check after that step."
    else:
        why = "A reading may go wrong once; a second one alike is no accident."
    return Step("repeat", WORDS["repeat"], done, not done and _last_step(facts) is None and passed is None, why)


def _fresh_portion(facts: Facts, passed: CheckFact | None) -> Step:
    waiting = [at for at in facts.fresh_portions if not _checks_from(facts, at)]
    done = bool(facts.fresh_portions) and not waiting
    why = "It was poured, and is not read yet." if waiting else "What stood open may have dried or taken up water."
    return Step("fresh portion", WORDS["fresh portion"], done, passed is None, why)


def _clean(facts: Facts, passed: CheckFact | None) -> Step:
    done = bool(facts.cleaned)
    why = "A cleaning is logged." if done else "Dirt moves all references the same way and slows the reading."
    return Step("clean", WORDS["clean"], done, passed is None, why)


def _check_after_cleaning(facts: Facts, passed: CheckFact | None) -> Step:
    read = _checks_from(facts, min(facts.cleaned)) if facts.cleaned else ()
    if read:
        why = f"{_named(read[0])} was read after it."
    elif facts.cleaned:
        why = _said_nothing(facts) or (
            "The cleaning took away the standing; the check gives it back, or says that it was not the dirt."
        )
    else:
        why = "Clean first."
    allowed = bool(facts.cleaned) and not read and passed is None
    return Step("check after cleaning", WORDS["check after cleaning"], bool(read), allowed, why)


def _second_lot(facts: Facts, passed: CheckFact | None) -> Step:
    read = _second_lot_checks(facts)
    why = f"{_named(read[0])} read it." if read else "The reference may be wrong and not the instrument."
    return Step("second lot", WORDS["second lot"], bool(read), passed is None, why)


def _adjust(facts: Facts, passed: CheckFact | None) -> tuple[Step, ...]:
    """Adjusting, and once it was done the as-left check."""
    against = reasons_against_adjusting(facts)
    why = " ".join(against) or "It was cleaned, checked again, and a second lot says the same."
    adjust = Step("adjust", WORDS["adjust"], bool(facts.adjustments), passed is None and not against, why)
    if not facts.adjustments:
        return (adjust,)
    read = _checks_from(facts, max(facts.adjustments))
    waits = _said_nothing(facts) or "An adjustment is only as good as the check after it."
    words = f"{_named(read[-1])} was read as left." if read else waits
    return adjust, Step("as left", WORDS["as left"], bool(read), not read, words)
