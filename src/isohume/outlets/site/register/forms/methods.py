"""Adding a method and a version of it, setting the budget a version decides with."""

from __future__ import annotations

from django.urls import reverse

from isohume.outlets.site.people.models import Site
from isohume.outlets.site.register.actions.add_method import AddMethod
from isohume.outlets.site.register.actions.add_method_version import AddMethodVersion
from isohume.outlets.site.register.actions.method_fields import Asks
from isohume.outlets.site.register.actions.set_budget import BASES, NUMBERS, SetBudget
from isohume.outlets.site.register.models import Method, MethodVersion
from isohume.outlets.site.register.views.act import ActForm, Ask

BUDGET_ADVICE = (
    "Own data: u_other is everything but repeatability, s_r the repeatability of one portion. Both are needed.",
    "Collaborative study: s_R in place of u_other; all left empty is the starter budget of the published studies.",
    "s_position is how much positions of a lot differ; leave it empty where it is not known.",
    "Decisions that were made keep the budget they were made with.",
)
HINTS = {
    "settled_change": "Of a captured trace; with its window. Both empty: 0.0005 in 60 s.",
    "estimates_validated": "Empty: a value taken before the criterion was met never releases a lot.",
    "early_verdicts": "A food-safety limit is only held or failed early; passing needs the criterion met.",
}
EARLY = "May the live page say that waiting cannot change the verdict"


def _asks(before: MethodVersion | None = None) -> list[Ask]:
    """What a version asks; a later one starts as the one before."""
    start = Asks() if before is None else before
    rows = (
        ("document", "Document", "", False),
        ("temperature_c", "Block temperature", "degC", True),
        ("temperature_tolerance_c", "Tolerance of the temperature", "K", True),
        ("mismatch_limit_c", "Sample may differ from the block by", "K", False),
        ("check_interval_h", "A check protects for", "h", True),
        ("equilibrium_criterion", "A reading counts when", "", False),
        ("settled_change", "A trace has settled when it changes by at most", "a_w", False),
        ("settled_window_s", "The window of that change", "s", False),
        ("estimates_validated", "Document that validates estimates for release", "", False),
        ("portions", "Portions of a sample", "", True),
        ("open_limit_min", "An open cup may wait", "min", True),
        ("lidded_limit_h", "A lidded cup may wait", "h", True),
        ("film_limit_h", "A film-wrapped cup may wait", "h", True),
    )
    words = ("document", "equilibrium_criterion", "estimates_validated")
    early = "yes" if str(start.early_verdicts) in ("yes", "True") else "no"
    return [
        Ask("version", "Version", required=True),
        *(
            Ask(
                name,
                label,
                start=str(getattr(start, name)),
                unit=unit,
                required=required,
                decimal=name not in words,
                hint=HINTS.get(name, ""),
            )
            for name, label, unit, required in rows
        ),
        Ask("early_verdicts", EARLY, "radios", early, HINTS["early_verdicts"], options=("no", "yes")),
    ]


def new(site: Site) -> ActForm:
    """A new method with its first version."""
    return ActForm(
        question="How is it measured?",
        says="Add a method",
        button="Add method",
        back=reverse("methods"),
        back_text="Methods",
        asks=[Ask("called", "Name of the method", required=True), *_asks()],
        make=lambda f: AddMethod(site, f.get("called", ""), Asks.of(f)),
        after=lambda made: made.method.get_absolute_url(),
        advice=("Times and temperatures are the method's own; the starting figures are common practice, no source.",),
    )


def new_version(method: Method) -> ActForm:
    """Another version of a method."""
    before = method.current
    return ActForm(
        question=f"What does {method.name} ask from now on?",
        says="Add a method version",
        button="Add method version",
        back=method.get_absolute_url(),
        back_text=method.name,
        asks=[*_asks(before), Ask("reason", "What changed, and why", required=True)],
        make=lambda f: AddMethodVersion(method, f.get("reason", ""), Asks.of(f)),
        after=lambda made: made.get_absolute_url(),
        note=f"In force now: version {before.version}. It stays with everything measured by it." if before else "",
        advice=("The budget of the version before is carried over; set another one where the change asks for it.",),
    )


def budget(version: MethodVersion) -> ActForm:
    """Another budget for a version."""
    kept = version.budget
    start = {key: getattr(kept, key) if kept else "" for key in (*NUMBERS, "basis", "source")}
    hint = "A standard uncertainty in a_w, such as 0.0032."
    labels = {
        "u_other": "u_other, everything but repeatability",
        "s_r": "s_r, repeatability of one portion",
        "s_reproducibility": "s_R, reproducibility",
        "s_position": "s_position, between positions of a lot",
    }
    return ActForm(
        question=f"How sure is a result of {version}?",
        says="Set an uncertainty budget",
        button="Set budget",
        back=version.get_absolute_url(),
        back_text=str(version),
        asks=[
            Ask("basis", "Stands on", "radios", start["basis"] or BASES[0], options=BASES),
            *(Ask(key, label, start=start[key], hint=hint, decimal=True) for key, label in labels.items()),
            Ask("source", "Where the figures come from", start=start["source"]),
            Ask("reason", "Why it is set", required=True),
        ],
        make=lambda f: SetBudget(version, **{key: f.get(key, "") for key in ("basis", *NUMBERS, "source", "reason")}),
        after=lambda made: made.method_version.get_absolute_url(),
        advice=BUDGET_ADVICE,
    )
