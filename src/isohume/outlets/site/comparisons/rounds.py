"""What a proficiency round says: its scores, the word, and several rounds seen together."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from isohume.foundation.metrology import RoundsTogether, e_n, rounds_together, score_word, z_score, zeta_score
from isohume.outlets.site.comparisons.models import ProficiencyRound

SHAPES = {"acceptable": "pass", "warning": "due", "action": "fail"}
WORSE = ("acceptable", "warning", "action")
WORDS = {"acceptable": "acceptable", "warning": "warning", "action": "action needed"}


@dataclass(frozen=True, slots=True)
class Scores:
    """z, and zeta and E_n where both uncertainties are known; the word for the round, and why."""

    z: float
    zeta: float | None
    e_n: float | None
    word: str
    why: str


def scores_of(
    result: float, assigned: float, sigma: float, u_result: float | None, u_assigned: float | None, e_n_counts: bool
) -> Scores:
    """|z| or |zeta| of 2 and more is a warning, of 3 and more asks for action; by choice |E_n| above 1 does too."""
    z = z_score(result, assigned, sigma)
    zeta = number = None
    if u_result is not None and u_assigned is not None:
        zeta = zeta_score(result, u_result, assigned, u_assigned)
        number = e_n(result, 2 * u_result, assigned, 2 * u_assigned)
    word, why = score_word(z), f"|z| = {abs(z):.2f}"
    if zeta is not None and WORSE.index(score_word(zeta)) > WORSE.index(word):
        word, why = score_word(zeta), f"|zeta| = {abs(zeta):.2f}"
    if e_n_counts and number is not None and abs(number) > 1.0 and word != "action":
        word, why = "action", f"|E_n| = {abs(number):.2f}"
    return Scores(z, zeta, number, word, why)


def together(rounds: Sequence[ProficiencyRound]) -> RoundsTogether | None:
    """All rounds in their order of time; None where there is none."""
    return rounds_together([one.z for one in rounds]) if rounds else None
