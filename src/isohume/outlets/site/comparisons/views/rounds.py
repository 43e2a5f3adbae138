"""Proficiency rounds: all of them as a picture, one with its scores, a new report, its cause."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404

from isohume.foundation.metrology import score_word
from isohume.outlets.site.comparisons import forms, hows, pictures
from isohume.outlets.site.comparisons.actions.explain_round import ExplainRound
from isohume.outlets.site.comparisons.actions.record_round import RecordRound
from isohume.outlets.site.comparisons.queries import deviations_about, rounds_of
from isohume.outlets.site.comparisons.rounds import SHAPES, WORDS, together
from isohume.outlets.site.config.page import page
from isohume.outlets.site.people.pages import shown_to
from isohume.outlets.site.people.roles import EVERYONE
from isohume.outlets.site.register.views.act import act_page, offered

MOST = 60


@shown_to(EVERYONE)
def rounds(request: HttpRequest) -> HttpResponse:
    """Every round's score, and what they say together."""
    found = list(rounds_of(request.user.site))[-MOST:]
    context = {
        "rounds": found,
        "together": together(found),
        "picture": pictures.rounds_picture(found) if found else "",
        "rows": [
            (str(one), one.reported_on.isoformat(), f"{one.z:.2f}".replace("-", "\N{MINUS SIGN}"), WORDS[one.word])
            for one in found
        ],
        "add": offered(request.user, "Record round", "", RecordRound),
        "shapes": SHAPES,
        "words": WORDS,
    }
    return page(request, "comparisons/rounds.html", context)


@shown_to(EVERYONE)
def round_new(request: HttpRequest) -> HttpResponse:
    """The report of a round."""
    return act_page(request, forms.new_round(request.user.site))


@shown_to(EVERYONE)
def proficiency_round(request: HttpRequest, pk: int) -> HttpResponse:
    """One round: the word, the scores, cause and action, and the deviation it opened."""
    found = get_object_or_404(rounds_of(request.user.site), pk=pk)
    context = {
        "round": found,
        "shape": SHAPES[found.word],
        "word": WORDS[found.word],
        "how": hows.of_scores(found),
        "zeta_word": "" if found.zeta is None else WORDS[score_word(found.zeta)],
        "deviations": deviations_about(found.ref, found.site),
        "explain": offered(request.user, "Explain the round", "", ExplainRound),
    }
    return page(request, "comparisons/round.html", context)


@shown_to(EVERYONE)
def round_explain(request: HttpRequest, pk: int) -> HttpResponse:
    """Cause and action."""
    return act_page(request, forms.explain_round(get_object_or_404(rounds_of(request.user.site), pk=pk)))
