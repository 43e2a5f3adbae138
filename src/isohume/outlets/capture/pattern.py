"""A regular expression of the laboratory's rule: shown where it is bad, and never slow without end.

A pattern such as `^(a|aa)+$` can take longer than the age of the plant on a line it nearly fits. Lines are therefore
bounded in length and a search in time, and a pattern that is slow on lines made to be hard is refused with the rule.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

import regex

from isohume.foundation.quantity.errors import InputError

LONGEST_LINE = 1000
LONGEST_PATTERN = 1000
SEARCH_S = 0.2
PROBE_S = 1.0
PROBES = tuple(
    f"{part * (LONGEST_LINE // len(part))}{end}"
    for part in ("0", " ", "a", "0.5 ", "a ", "0,", "x0;")
    for end in ("", "!", "\t")
)


class SlowPatternError(Exception):
    """A search took longer than a line may take."""


@dataclass(frozen=True, slots=True)
class Pattern:
    """A compiled pattern with the text it was typed as."""

    text: str
    compiled: Any = field(repr=False, compare=False)

    @property
    def groups(self) -> frozenset[str]:
        """The names it gives to parts of a line."""
        return frozenset(self.compiled.groupindex)

    def search(self, line: str, timeout: float = SEARCH_S) -> dict[str, str] | None:
        """The named parts of a line that were found; None where the pattern is not in the line.

        Raises: SlowPatternError where the search was given up.
        """
        try:
            found = self.compiled.search(line, timeout=timeout)
        except TimeoutError:
            raise SlowPatternError(self.text) from None
        return None if found is None else {k: v for k, v in found.groupdict().items() if v is not None}


def read_pattern(text: Any, field_name: str, allowed_groups: tuple[str, ...]) -> Pattern:
    """A pattern as the laboratory typed it.

    Raises: InputError that shows the pattern, and what is wrong with it.
    """
    if not isinstance(text, str) or not text:
        raise InputError(field_name, text, "a regular expression, in quotes")
    if len(text) > LONGEST_PATTERN:
        raise InputError(field_name, text, f"at most {LONGEST_PATTERN} characters, not {len(text)}")
    try:
        pattern = Pattern(text, regex.compile(text))
    except (regex.error, OverflowError, RecursionError) as error:
        raise InputError(field_name, text, f"a regular expression ({error})") from None
    for group in sorted(pattern.groups - set(allowed_groups)):
        raise InputError(field_name, f"(?P<{group}>", f"groups named {', '.join(allowed_groups) or 'nothing'}")
    _not_slow(pattern, field_name)
    if pattern.search("") is not None:
        raise InputError(field_name, text, "a pattern that asks for something: this one is found in an empty line")
    return pattern


def _not_slow(pattern: Pattern, field_name: str) -> None:
    for probe in PROBES:
        try:
            pattern.search(probe, PROBE_S)
        except SlowPatternError:
            raise InputError(
                field_name,
                pattern.text,
                f"a pattern that is quick on every line, without repeats inside repeats: on a line of {len(probe)} "
                f"characters like {probe[:8]!r} this one took longer than {PROBE_S:g} s",
            ) from None
