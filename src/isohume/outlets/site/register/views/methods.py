"""Methods: the list, one method, one version, and their changes."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.utils import timezone

from isohume.outlets.site.bench.moments import plant_day
from isohume.outlets.site.config.page import page
from isohume.outlets.site.people.models import Competence, Person
from isohume.outlets.site.people.pages import shown_to
from isohume.outlets.site.people.roles import EVERYONE
from isohume.outlets.site.register.actions.add_method import AddMethod
from isohume.outlets.site.register.actions.add_method_version import AddMethodVersion
from isohume.outlets.site.register.actions.set_budget import SetBudget
from isohume.outlets.site.register.figures import Figure, uncertainty_of
from isohume.outlets.site.register.forms import methods as forms
from isohume.outlets.site.register.models import Method, MethodVersion
from isohume.outlets.site.register.views.act import Offered, act_page, offered

Rows = list[tuple[str, str]]


@shown_to(EVERYONE)
def methods(request: HttpRequest) -> HttpResponse:
    """Every method of the plant with its version in force."""
    found = Method.objects.filter(site=request.user.site).prefetch_related("versions__budgets").order_by("name")
    add = offered(request.user, "Add method", reverse("method_new"), AddMethod)
    listed = [(method, method.current, _uncertainty(method.current)) for method in found]
    return page(request, "register/methods.html", {"methods": listed, "add": add})


@shown_to(EVERYONE)
def method_new(request: HttpRequest) -> HttpResponse:
    """The form for a new one."""
    return act_page(request, forms.new(request.user.site))


@shown_to(EVERYONE)
def method(request: HttpRequest, pk: int) -> HttpResponse:
    """What it asks, how sure its results are, who is competent."""
    found = get_object_or_404(Method, pk=pk, site=request.user.site)
    current, day = found.current, plant_day(timezone.now(), found.site)
    context = {
        "method": found,
        "current": current,
        "asks": _asks(current) if current else [],
        "uncertainty": _uncertainty(current),
        "versions": found.versions.order_by("-pk"),
        "competences": _competences(found),
        "products": found.products.order_by("name"),
        "day": day,
        "acts": _acts(request.user, found, current),
    }
    return page(request, "register/method.html", context)


def _acts(person: Person, found: Method, current: MethodVersion | None) -> list[Offered]:
    acts = [offered(person, "Add method version", reverse("method_act", args=[found.pk, "version"]), AddMethodVersion)]
    if current is not None:
        url = reverse("methodversion_act", args=[current.pk, "budget"])
        acts.append(offered(person, "Set budget", url, SetBudget))
    return acts


@shown_to(EVERYONE)
def method_act(request: HttpRequest, pk: int, act: str) -> HttpResponse:
    """Another version."""
    return act_page(request, forms.new_version(get_object_or_404(Method, pk=pk, site=request.user.site)))


@shown_to(EVERYONE)
def methodversion(request: HttpRequest, pk: int) -> HttpResponse:
    """One version: what it asks, its budgets, old and new."""
    found = get_object_or_404(MethodVersion, pk=pk, method__site=request.user.site)
    budget = offered(request.user, "Set budget", reverse("methodversion_act", args=[found.pk, "budget"]), SetBudget)
    context = {
        "version": found,
        "in_force": found == found.method.current,
        "asks": _asks(found),
        "uncertainty": uncertainty_of(found),
        "budgets": found.budgets.order_by("-pk"),
        "acts": [budget],
    }
    return page(request, "register/methodversion.html", context)


@shown_to(EVERYONE)
def methodversion_act(request: HttpRequest, pk: int, act: str) -> HttpResponse:
    """Another budget."""
    return act_page(request, forms.budget(get_object_or_404(MethodVersion, pk=pk, method__site=request.user.site)))


def _uncertainty(version: MethodVersion | None) -> Figure | None:
    return uncertainty_of(version) if version is not None else None


def _competences(method: Method) -> list[Competence]:
    """The last competence of each active person, by name."""
    last: dict[int, Competence] = {}
    found = method.competences.filter(person__is_active=True).select_related("person").order_by("lapses_on", "pk")
    for competence in found:
        last[competence.person_id] = competence
    return sorted(last.values(), key=lambda competence: competence.person.printed_name)


def _asks(version: MethodVersion) -> Rows:
    """What the version asks, as facts."""
    mismatch = f"{version.mismatch_limit_c} K" if version.mismatch_limit_c else "computed for each reading"
    return [
        ("Document", version.document or "none named"),
        ("Block temperature", f"{version.temperature_c} ± {version.temperature_tolerance_c} degC"),
        ("Sample may differ from the block by", mismatch),
        ("A check protects for", f"{version.check_interval_h} h"),
        ("A reading counts when", version.equilibrium_criterion or "not said"),
        ("A trace has settled when", _settled(version)),
        ("A non-equilibrium estimate", _estimates(version)),
        ("A verdict said before a run has settled", "said on the live page" if version.early_verdicts else "not said"),
        ("Portions of a sample", str(version.portions)),
        ("A cup may wait open", f"{version.open_limit_min} min"),
        ("A cup may wait lidded", f"{version.lidded_limit_h} h"),
        ("A cup may wait film-wrapped", f"{version.film_limit_h} h"),
    ]


def _settled(version: MethodVersion) -> str:
    if not version.settled_change:
        return "it changes by at most 0.0005 in 60 s, where the method says nothing else"
    return f"it changes by at most {version.settled_change} in {version.settled_window_s} s"


def _estimates(version: MethodVersion) -> str:
    if not version.estimates_validated:
        return "never releases a lot"
    return f"may release a lot, validated by {version.estimates_validated}"
