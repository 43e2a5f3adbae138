"""Which checks give an instrument its standing: passed after every failed one had ended, on all that failed."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime
from itertools import tee

from django.db.models import Exists, OuterRef, Q

from isohume.bench.assurance import Answer, CheckFact, answers
from isohume.bench.assurance.after_failure import against_answer
from isohume.bench.assurance.check import within_limit
from isohume.outlets.site.checks.hints import named
from isohume.outlets.site.checks.models import Check

AT_A_TIME = 50
WEIGHS = Q(voided_at=None)
BESIDE = Check.objects.filter(
    WEIGHS,
    passed=False,
    instrument=OuterRef("instrument"),
    last_read_at__gte=OuterRef("first_read_at"),
    last_read_at__lte=OuterRef("last_read_at"),
)
"""The failed checks that had not ended when a check began."""
GIVES = WEIGHS & Q(kind="opening", may_measure=True, left_out="") & ~Exists(BESIDE)
"""What gives an instrument its standing: an opening check that lets it measure, and answers every open failure."""
DECIDES = GIVES | (WEIGHS & Q(passed=False))
"""What gives an instrument its standing, or takes it away: such an opening check, any failed check."""


def last_giving(instrument: int, before: datetime, *, at_it: bool = True) -> Check | None:
    """The last check that gave an instrument its standing until a moment; at_it: one read at that very moment too."""
    until = Q(last_read_at__lte=before) if at_it else Q(last_read_at__lt=before)
    return Check.objects.filter(GIVES, until, instrument=instrument).order_by("-last_read_at", "-pk").first()


def settle(changed: Check) -> None:
    """After a check was recorded or voided: what it and the later ones left out of the failures before them.

    A check may be entered late: then those read after it are asked again, until one stands as it stood before.
    """
    good = last_giving(changed.instrument_id, changed.last_read_at, at_it=False)
    found = Check.objects.filter(WEIGHS, instrument=changed.instrument_id)
    if good is not None:
        found = found.filter(last_read_at__gt=good.last_read_at)
    differs: dict[int, str] = {}
    told, asked = tee(found.order_by("last_read_at", "passed", "pk").iterator(AT_A_TIME))
    for check, answer in zip(told, answers(map(fact_of, asked)), strict=True):
        words = ", ".join(sorted(answer.left_out))
        if words != check.left_out:
            differs[check.pk] = words
        elif answer.counts and check.first_read_at > changed.last_read_at:
            break
    for pk, words in differs.items():
        Check.objects.filter(pk=pk).update(left_out=words)
    changed.refresh_from_db(fields=["left_out"])


def fact_of(check: Check, lots: frozenset[tuple[str, str]] = frozenset()) -> CheckFact:
    """A check as the bench's rule of open failures wants to know it."""
    within, failing = _sides(check)
    return CheckFact(
        name=f"check {check.pk}",
        first_read_at=check.first_read_at,
        last_read_at=check.last_read_at,
        lets_measure=check.kind == "opening" and check.may_measure,
        lots=lots,
        failed=not check.passed,
        within=within,
        failing=frozenset() if check.passed else failing,
    )


def failing_of(check: Check) -> frozenset[str]:
    """The references that were not within, or scattered; all of them where the check failed for another reason.

    None where a correction was in force and the check read no reference in its span: nothing was said of any.
    """
    return _sides(check)[1]


def _sides(check: Check) -> tuple[frozenset[str], frozenset[str]]:
    limit, solutions, as_read = check.result["limit"], check.result["solutions"], check.result.get("as_read")
    if as_read is not None and [s["mean"] for s in solutions] == [s["mean"] for s in as_read["solutions"]]:
        return frozenset(), frozenset()  # kept as read: the correction could not be asked about them
    sound = [s["within"] and within_limit(s.get("largest_deviation", 0.0), limit) for s in solutions]
    names = [named(s["solution"], s["molality"]) for s in solutions]
    within = frozenset(name for name, good in zip(names, sound, strict=True) if good)
    failing = frozenset(names) - within
    return within, failing or frozenset(names)


def against_giving(check: Check) -> list[str]:
    """Why a check that passed gives the instrument no standing all the same; none where it does."""
    if not check.passed or not check.may_measure or check.kind != "opening":
        return []
    beside = Check.objects.filter(
        WEIGHS,
        passed=False,
        instrument=check.instrument_id,
        last_read_at__gte=check.first_read_at,
        last_read_at__lte=check.last_read_at,
    )
    failed = beside.order_by("-last_read_at", "-pk").values_list("pk", flat=True).first()
    return list(words_against_giving(check, failed))


def words_against_giving(check: Check, beside: int | None) -> Iterator[str]:
    """The same, where the failed check that it began beside is known already."""
    named_check = f"Check {check.pk} of {check.instrument.name} passed, but"
    if check.left_out:
        yield f"{named_check} {against_answer(Answer(frozenset(check.left_out.split(', '))))}"
    elif beside is not None:
        yield f"{named_check} {against_answer(Answer(beside=f'failed check {beside}'))}"
