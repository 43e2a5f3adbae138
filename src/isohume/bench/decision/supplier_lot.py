"""A supplier's lot against its certificate: the same quantity on the same basis, judged with both uncertainties."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from isohume.foundation.metrology.conformity import probability_of_conformity
from isohume.foundation.metrology.replicates import critical_difference_two_labs
from isohume.foundation.metrology.scores import score_word, zeta_score
from isohume.foundation.quantity.errors import InputError
from isohume.foundation.quantity.moisture import dry_from_wet, wet_from_dry

Basis = Literal["wet", "dry"]
AgreesWords = Literal["agrees", "questionable", "differs", "not judged"]
LimitWords = Literal["inside the limit", "inside, not beyond doubt", "beyond the limit"]
BASES: tuple[Basis, ...] = ("wet", "dry")
COVERAGE = 2.0  # of the expanded uncertainty by which one side alone is judged
BEYOND_DOUBT = 0.95  # probability of conformity from which a value is called inside (common practice, no source)
STARTER_S_R_CAPITAL = 0.010  # s_R of a_w in collaborative studies, the larger figure of 0.008 to 0.010
MOST_SAID = 0.999  # what lies nearer to 0 or 1 is said as below or above
_OF_ZETA: dict[str, AgreesWords] = {"acceptable": "agrees", "warning": "questionable", "action": "differs"}


@dataclass(frozen=True, slots=True)
class Stated:
    """A value that one side states, with its standard uncertainty where it gives one."""

    value: float
    u: float | None = None

    def __post_init__(self) -> None:
        if not math.isfinite(self.value):
            raise InputError("value", self.value, "a finite number")
        if self.u is not None and not 0.0 < self.u < math.inf:
            raise InputError("u", self.u, "a finite standard uncertainty greater than zero, or none")


@dataclass(frozen=True, slots=True)
class Compared:
    """Our value less the certificate's, how it was judged, and why. `u` is that of the difference."""

    words: AgreesWords
    difference: float
    u: float | None
    zeta: float | None
    critical: float | None
    reasons: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class AgainstLimit:
    """A value against an upper limit: inside, inside with a probability below 0.95, or beyond."""

    words: LimitWords
    probability: float | None
    reasons: tuple[str, ...]

    @property
    def beyond(self) -> bool:
        """Whether the value itself lies beyond the limit, unrounded."""
        return self.words == "beyond the limit"


def on_basis(stated: Stated, basis: Basis, wanted: Basis) -> Stated:
    """A moisture turned to another basis, its uncertainty with it.

        X = w/(1 - w), u(X) = u(w)/(1 - w)^2;  w = X/(1 + X), u(w) = u(X)/(1 + X)^2
    stated: the moisture as a fraction [g/g] on its basis.
    basis: the basis it is stated on [text], never left out.
    wanted: the basis asked for [text].
    Returns: the Stated [g/g] on the basis asked for.
    Raises: InputError for a basis that is none; RangeError for a wet-basis moisture of 1 and more.
    Example: 8.0 % wet basis = 8.70 % dry basis; 8.0 % dry basis = 7.41 % wet basis.
    Source: none (definition).
    """
    for name, one in (("basis", basis), ("wanted", wanted)):
        if one not in BASES:
            raise InputError(name, one or "nothing", "wet or dry; a bare percentage has no meaning")
    if basis == wanted:
        return stated
    if basis == "wet":
        value, stretch = float(dry_from_wet(stated.value)), (1.0 - stated.value) ** -2
    else:
        value, stretch = float(wet_from_dry(stated.value)), (1.0 + stated.value) ** -2
    return Stated(value, None if stated.u is None else stated.u * stretch)


def compare(ours: Stated, theirs: Stated) -> Compared:
    """Our value against the certificate's, with both uncertainties.

        zeta = (x - X)/sqrt(u_x^2 + u_X^2): below 2 agrees, from 2 questionable, from 3 differs
    ours: our determination [any unit].
    theirs: the certificate's value [same unit, same basis].
    Returns: the Compared [same unit]. Where one side gives no u, a difference inside 2 u of the other side agrees
        all the same, since more u would only widen it; a larger one is "not judged": no u is invented.
    Example: 0.0740 (u 0.0010) against 0.0741 (u 0.0015): zeta -0.06, agrees.
    Source: ISO13528, 9.6.
    """
    difference = ours.value - theirs.value
    if ours.u is not None and theirs.u is not None:
        zeta = zeta_score(ours.value, ours.u, theirs.value, theirs.u)
        u = math.hypot(ours.u, theirs.u)
        reason = f"zeta = {zeta:+.2f}: the difference over the uncertainty of both sides"
        return Compared(_OF_ZETA[score_word(zeta)], difference, u, zeta, None, (reason,))
    if ours.u is None and theirs.u is None:
        return Compared("not judged", difference, None, None, None, ("neither side gives an uncertainty",))
    known = ours.u if ours.u is not None else theirs.u
    assert known is not None
    silent, told = ("the certificate", "our") if theirs.u is None else ("our determination", "the certificate's")
    if abs(difference) <= COVERAGE * known:
        why = f"{silent} gives no uncertainty, but the difference lies within 2 u of {told} value alone"
        return Compared("agrees", difference, None, None, None, (why,))
    why = f"{silent} gives no uncertainty and the difference is more than 2 u of {told} value: ask for it"
    return Compared("not judged", difference, None, None, None, (why,))


def compare_a_w(ours: Stated, theirs: Stated, s_r: float, portions: int = 1) -> Compared:
    """a_w against the certificate's: by zeta with both u, else by the critical difference of two laboratories.

        CD = sqrt(R^2 - r^2 (1 - 1/(2 n1) - 1/(2 n2))), R = 2.8 s_R, r = 2.8 s_r, n2 = 1
    ours: our determination [1].
    theirs: the certificate's value [1], at the same temperature.
    s_r: our repeatability standard deviation [1], above 0 and at most 0.010.
    portions: how many portions our value is the mean of [1], at least 1.
    Returns: the Compared [1]; a difference beyond the critical one "differs".
    Raises: InputError for an s_r or a number of portions that makes no sense.
    Example: 0.452 against 0.430 without u, s_r 0.002: CD 0.028, agrees.
    Source: ISO5725-6, 5.3.2; s_R 0.010 of collaborative studies.
    """
    if ours.u is not None and theirs.u is not None:
        return compare(ours, theirs)
    critical = critical_difference_two_labs(2.8 * STARTER_S_R_CAPITAL, 2.8 * s_r, portions, 1)
    difference = ours.value - theirs.value
    agrees = abs(difference) <= critical
    why = (
        f"an uncertainty is missing, so the critical difference of two laboratories judges: {critical:.3f} "
        f"(s_R {STARTER_S_R_CAPITAL:.3f} of collaborative studies)"
    )
    return Compared("agrees" if agrees else "differs", difference, None, None, critical, (why,))


def against_limit(stated: Stated, upper: float) -> AgainstLimit:
    """A value against the purchase specification's upper limit; what equals the limit is inside.

    stated: the value [any unit].
    upper: the greatest value allowed [same unit, same basis].
    Returns: the AgainstLimit [text]; without u there is no probability.
    Raises: InputError for a limit that is not finite.
    Example: 0.0741 (u 0.0010) against 0.075: inside, probability 0.82, not beyond doubt.
    Source: JCGM106, 7.
    """
    if not math.isfinite(upper):
        raise InputError("upper", upper, "a finite limit")
    if stated.u is None:
        words: LimitWords = "beyond the limit" if stated.value > upper else "inside the limit"
        return AgainstLimit(words, None, ("no uncertainty is given, so no probability can be stated",))
    probability = float(probability_of_conformity(stated.value, stated.u, upper=upper))
    said = f"probability of conformity {_said(probability)}"
    if stated.value > upper:
        return AgainstLimit("beyond the limit", probability, (said,))
    if probability < BEYOND_DOUBT:
        return AgainstLimit("inside, not beyond doubt", probability, (f"{said}, below {BEYOND_DOUBT:g}",))
    return AgainstLimit("inside the limit", probability, (said,))


def basis_hint(ours_wb: Stated, figure: Stated, basis: Basis | None) -> str:
    """Whether a certificate's moisture would agree with ours on the other basis; empty where nothing points there.

    ours_wb: our moisture on wet basis [g/g].
    figure: the certificate's figure as printed [g/g], before any conversion.
    basis: the basis the certificate names [text]; None where it names none.
    Returns: the hint [text]: it changes nothing, the supplier is to be asked.
    Example: 7.45 % wet basis of ours, 8.0 % called wet: on dry basis it would be 7.41 % wet basis and agree.
    Source: none.
    """
    fits = [one for one in BASES if _near(ours_wb, on_basis(figure, one, "wet"))]
    shown = f"{100 * figure.value:.3g} %"
    if basis is None:
        if len(fits) == 1:
            return f"The certificate's {shown} would agree with ours on {fits[0]} basis only: ask for its basis."
        return f"The certificate's {shown} names no basis, so nothing is compared: ask for its basis."
    other: Basis = "dry" if basis == "wet" else "wet"
    if fits == [other]:
        return (
            f"The certificate's {shown} does not agree with ours on {basis} basis and would on {other} basis: "
            "ask the supplier on which basis it is stated."
        )
    return ""


def _near(ours: Stated, theirs: Stated) -> bool:
    u = math.hypot(ours.u or 0.0, theirs.u or 0.0)
    return u > 0.0 and abs(ours.value - theirs.value) <= COVERAGE * u


def _said(probability: float) -> str:
    if probability > MOST_SAID:
        return f"above {MOST_SAID:g}"
    return f"below {1.0 - MOST_SAID:.3f}" if probability < 1.0 - MOST_SAID else f"{probability:.3f}"
