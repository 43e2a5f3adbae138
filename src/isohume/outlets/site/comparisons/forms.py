"""The forms of the comparisons that need no file: a round, its cause, blind references."""

from __future__ import annotations

from django.urls import reverse

from isohume.outlets.site.comparisons.actions.decide_blind_reference import DecideBlindReference
from isohume.outlets.site.comparisons.actions.explain_round import ExplainRound
from isohume.outlets.site.comparisons.actions.read_blind_reference import ReadBlindReference
from isohume.outlets.site.comparisons.actions.record_round import RecordRound
from isohume.outlets.site.comparisons.actions.set_blind_reference import SetBlindReference
from isohume.outlets.site.comparisons.models import BlindReference, ProficiencyRound
from isohume.outlets.site.people.models import Person, Site
from isohume.outlets.site.people.roles import ANALYST, MANAGER
from isohume.outlets.site.register.models import Instrument, Method
from isohume.outlets.site.register.views.act import ActForm, Ask

Pairs = list[tuple[str, str]]


def instruments_of(site: Site) -> Pairs:
    """Instruments to choose from."""
    return [(str(one.pk), one.name) for one in Instrument.objects.filter(site=site, in_use=True).order_by("name")]


def new_round(site: Site) -> ActForm:
    """A round's report."""
    asks = [*_of_scheme(), *_of_result(site), *_of_days()]
    names = [ask.name for ask in asks]
    return ActForm(
        question="How did we do in a proficiency round?",
        says="Record a proficiency round",
        button="Record round",
        back=reverse("rounds"),
        back_text="Proficiency rounds",
        asks=asks,
        make=lambda f: RecordRound(site, **{key: f.get(key, "") for key in names}),
        after=lambda made: made.get_absolute_url(),
        advice=(
            "|z| from 2 on is a warning; from 3 on a deviation is opened and somebody answers for it.",
            "Own checks and comparisons of own instruments do not take the place of a proficiency round.",
        ),
    )


def _of_scheme() -> list[Ask]:
    return [
        Ask("scheme", "Scheme, in words", required=True, hint="As its reports call it."),
        Ask("round", "Round", required=True, hint="Such as 2026-2."),
        Ask("item", "Item", required=True, hint="What was measured: crackers, sample 3."),
    ]


def _of_result(site: Site) -> list[Ask]:
    sigma_hint = "σ_pt of the report."
    return [
        Ask("result", "Our result", mask="a_w", required=True),
        Ask("u_result", "Its standard uncertainty u", decimal=True),
        Ask("assigned", "Assigned value", mask="a_w", required=True),
        Ask("u_assigned", "Standard uncertainty u of the assigned value", decimal=True),
        Ask("sigma_pt", "Standard deviation for the assessment", decimal=True, required=True, hint=sigma_hint),
        Ask("instrument", "Measured on", "select", options=instruments_of(site), blank="not said"),
    ]


def _of_days() -> list[Ask]:
    hint = "The day we want to take part again; it goes on the due list."
    return [
        Ask("reported_on", "Day of the report", "date", required=True),
        Ask("next_on", "Next round", "date", hint=hint),
        Ask("e_n_counts", "Also act where |E_n| is above 1", "radios", "no", options=(("yes", "yes"), ("no", "no"))),
    ]


def explain_round(found: ProficiencyRound) -> ActForm:
    """What was behind a score."""
    return ActForm(
        question=f"What was behind z = {found.z:.2f}?".replace("-", "\N{MINUS SIGN}"),
        says="Explain the round",
        button="Save cause and action",
        back=found.get_absolute_url(),
        back_text=str(found),
        asks=[
            Ask("cause", "Cause", start=found.cause, required=True),
            Ask("action", "Action", start=found.action, required=True),
        ],
        make=lambda f: ExplainRound(found, f.get("cause", ""), f.get("action", "")),
        after=lambda made: made.get_absolute_url(),
        note="Old and new words stay in the trail.",
    )


def new_blind(site: Site, me: Person) -> ActForm:
    """A blind reference for somebody else."""
    asks = [*_of_reader(site, me), *_of_value()]
    names = [ask.name for ask in asks]
    return ActForm(
        question="Does somebody still measure well?",
        says="Set a blind reference",
        button="Set blind reference",
        back=reverse("blind_references"),
        back_text="Blind references",
        asks=asks,
        make=lambda f: SetBlindReference(site, **{key: f.get(key, "") for key in names}),
        after=lambda made: made.get_absolute_url(),
        advice=("Decant a reference solution into a bottle that carries nothing but the label.",),
    )


def _of_reader(site: Site, me: Person) -> list[Ask]:
    found = Person.objects.active(site).order_by("printed_name")
    readers = [(str(one.pk), one.printed_name) for one in found if one.holds(ANALYST, MANAGER) and one.pk != me.pk]
    methods = [(str(one.pk), one.name) for one in Method.objects.filter(site=site).order_by("name")]
    return [
        Ask("label", "Label on the bottle", required=True, hint="A code that says nothing of the value."),
        Ask("person", "Read by", "select", options=readers, required=True, blank="choose"),
        Ask("method", "Competence in", "select", options=methods, required=True, blank="choose"),
    ]


def _of_value() -> list[Ask]:
    hidden = "Hidden until it is read; the trail holds a digest."
    limit = "Your own: justify it from U of the method."
    return [
        Ask("expected", "Known value", mask="a_w", required=True, hint=hidden),
        Ask("limit", "Limit of the difference", decimal=True, required=True, hint=limit),
        Ask("value_source", "Where the value comes from", required=True),
    ]


def read_blind(found: BlindReference) -> ActForm:
    """The reading of the person it was set for."""
    return ActForm(
        question=f"What does {found.label} read?",
        says=f"Read {found.label}",
        button="Record reading",
        back=found.get_absolute_url(),
        back_text=str(found),
        asks=[
            Ask(
                "instrument", "Instrument", "select", options=instruments_of(found.site), required=True, blank="choose"
            ),
            Ask("result", "Reading", mask="a_w", required=True),
        ],
        make=lambda f: ReadBlindReference(found, f.get("result", ""), f.get("instrument", "")),
        after=lambda made: made.get_absolute_url(),
        note="Once only: the known value is shown as soon as the reading is recorded.",
    )


def decide_blind(found: BlindReference) -> ActForm:
    """What follows from it."""
    options = (("competent", "shown competent: record it"), ("not shown", "not shown: no competence is recorded"))
    return ActForm(
        question=f"Is {found.person} competent in {found.method}?",
        says=f"Decide on {found.label}",
        button="Record decision",
        back=found.get_absolute_url(),
        back_text=str(found),
        asks=[
            Ask("outcome", "Decision", "radios", "competent" if found.within else "not shown", options=options),
            Ask(
                "lapses_on",
                "Competence lapses on",
                "date",
                hint="At most three years ahead; empty where none is recorded.",
            ),
            Ask("decision", "Why", required=True),
        ],
        make=lambda f: DecideBlindReference(found, f.get("outcome", ""), f.get("lapses_on", ""), f.get("decision", "")),
        after=lambda made: made.get_absolute_url(),
    )
