"""Named questions about comparisons."""

from __future__ import annotations

from django.db.models import QuerySet

from isohume.outlets.site.comparisons.models import (
    BlindReference,
    GaugeStudy,
    InstrumentComparison,
    ProficiencyRound,
    SiteComparison,
)
from isohume.outlets.site.lots.models import Deviation
from isohume.outlets.site.people.models import Site


def comparisons_of(site: Site) -> QuerySet[InstrumentComparison]:
    """Kept comparisons of instruments, the newest first."""
    related = "first", "second", "product", "by"
    return InstrumentComparison.objects.filter(site=site).select_related(*related).order_by("-pk")


def rounds_of(site: Site) -> QuerySet[ProficiencyRound]:
    """Proficiency rounds, the oldest first."""
    related = "instrument", "by", "explained_by"
    return ProficiencyRound.objects.filter(site=site).select_related(*related).order_by("reported_on", "pk")


def gauge_studies_of(site: Site) -> QuerySet[GaugeStudy]:
    """Gauge studies, the newest first."""
    return GaugeStudy.objects.filter(site=site).select_related("by").order_by("-pk")


def site_comparisons_of(site: Site) -> QuerySet[SiteComparison]:
    """Comparisons of sites, the newest first."""
    return SiteComparison.objects.filter(site=site).select_related("by").order_by("-pk")


def blind_references_of(site: Site) -> QuerySet[BlindReference]:
    """Blind references, the newest first."""
    related = "person", "method", "set_by", "instrument", "decided_by", "competence"
    return BlindReference.objects.filter(site=site).select_related(*related).order_by("-pk")


def deviations_about(ref: str, site: Site) -> QuerySet[Deviation]:
    """The deviations that speak of an object."""
    return Deviation.objects.filter(site=site, about=ref).order_by("pk")
