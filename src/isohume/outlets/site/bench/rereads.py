"""Which read of a cup a run is. A second read of the same cup is a re-read, not a replicate."""

from __future__ import annotations

from isohume.outlets.site.bench.models import Portion, Run

ORDINALS = ("first", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth", "ninth", "tenth")


def counting(portion: Portion) -> list[Run]:
    """The runs of a cup that are neither void nor corrected, in time order."""
    return list(portion.runs.filter(void_reason="", corrected_by=None).order_by("read_at", "pk"))


def read_in_words(portion: Portion) -> str:
    """Which read of the cup comes next, and whether it is a replicate."""
    return nth_read(portion.code, len(counting(portion)) + 1)


def nth_read(code: str, number: int) -> str:
    """The words for the nth read of a cup."""
    nth = ORDINALS[number - 1] if number <= len(ORDINALS) else f"{number}th"
    return f"{nth} read of cup {code}" + (": a re-read, not a replicate" if number > 1 else "")
