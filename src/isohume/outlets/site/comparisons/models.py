"""Comparisons: instruments with each other, rounds of proficiency testing, gauge studies, sites, blind references."""

from __future__ import annotations

from typing import Any

from django.db import models

from isohume.outlets.site.config.named import Named
from isohume.outlets.site.people.models import Competence, Person, Site
from isohume.outlets.site.register.models import Instrument, Method, Product


class InstrumentComparison(Named):
    """Two instruments on the same material, as it was concluded; pairs: [what, first, second, n, n] as read."""

    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="instrument_comparisons")
    first = models.ForeignKey(Instrument, on_delete=models.PROTECT, related_name="+")
    second = models.ForeignKey(Instrument, on_delete=models.PROTECT, related_name="+")
    product = models.ForeignKey(Product, on_delete=models.PROTECT, null=True, related_name="+")
    source = models.CharField(max_length=200)
    file_sha256 = models.CharField(max_length=64, blank=True)
    pairs = models.JSONField(default=list)
    allowed = models.CharField(max_length=12)
    s_r = models.CharField(max_length=12, blank=True)
    stand_in = models.BooleanField()
    outcome = models.CharField(max_length=200)
    conclusion = models.CharField(max_length=500)
    next_on = models.DateField(null=True)
    at = models.DateTimeField()
    by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")

    def __str__(self) -> str:
        return f"{self.first} and {self.second}"


class ProficiencyRound(Named):
    """Our result in a round beside the assigned value; numbers as typed, scores as calculated from them."""

    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="proficiency_rounds")
    scheme = models.CharField(max_length=120)
    round = models.CharField(max_length=60)
    item = models.CharField(max_length=120)
    assigned = models.CharField(max_length=16)
    u_assigned = models.CharField(max_length=16, blank=True)
    sigma_pt = models.CharField(max_length=16)
    result = models.CharField(max_length=16)
    u_result = models.CharField(max_length=16, blank=True)
    instrument = models.ForeignKey(Instrument, on_delete=models.PROTECT, null=True, related_name="+")
    reported_on = models.DateField()
    next_on = models.DateField(null=True)
    e_n_counts = models.BooleanField(default=False)
    z = models.FloatField()
    zeta = models.FloatField(null=True)
    e_n = models.FloatField(null=True)
    word = models.CharField(max_length=12)
    cause = models.CharField(max_length=1000, blank=True)
    action = models.CharField(max_length=1000, blank=True)
    explained_at = models.DateTimeField(null=True)
    explained_by = models.ForeignKey(Person, on_delete=models.PROTECT, null=True, related_name="+")
    at = models.DateTimeField()
    by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")

    class Meta:
        """An item once a round of a scheme."""

        constraints = (
            models.UniqueConstraint(fields=("site", "scheme", "round", "item"), name="proficiency_item_once"),
        )

    def __str__(self) -> str:
        return f"{self.scheme}, round {self.round}, {self.item}"


class GaugeStudy(Named):
    """Every analyst or instrument read every part several times. readings: [part, who, a_w] as in the file."""

    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="gauge_studies")
    title = models.CharField(max_length=120)
    file_name = models.CharField(max_length=200)
    file_sha256 = models.CharField(max_length=64)
    who = models.CharField(max_length=40)
    readings = models.JSONField(default=list)
    outcome = models.CharField(max_length=200)
    at = models.DateTimeField()
    by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")

    class Meta:
        """The same content once a plant."""

        verbose_name_plural = "gauge studies"
        constraints = (models.UniqueConstraint(fields=("site", "file_sha256"), name="gauge_study_once"),)

    def __str__(self) -> str:
        return self.title


class SiteComparison(Named):
    """Sister sites on one control product. rows: {site, mean, s, n} as typed, our own first; r and R as typed."""

    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="site_comparisons")
    material = models.CharField(max_length=120)
    rows = models.JSONField(default=list)
    repeatability = models.CharField(max_length=16)
    reproducibility = models.CharField(max_length=16)
    outcome = models.CharField(max_length=200)
    at = models.DateTimeField()
    by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")

    def __str__(self) -> str:
        return self.material


class BlindReference(Named):
    """A known value that the person who reads it does not know.

    expected stays hidden until it is read; the ledger holds `commitment` from the start, so that nobody can change it.
    """

    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="blind_references")
    label = models.CharField(max_length=60)
    method = models.ForeignKey(Method, on_delete=models.PROTECT, related_name="+")
    person = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="blind_references")
    expected = models.CharField(max_length=16)
    limit = models.CharField(max_length=12)
    value_source = models.CharField(max_length=200)
    salt = models.CharField(max_length=32)
    commitment = models.CharField(max_length=64)
    set_at = models.DateTimeField()
    set_by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    instrument = models.ForeignKey(Instrument, on_delete=models.PROTECT, null=True, related_name="+")
    result = models.CharField(max_length=16, blank=True)
    read_at = models.DateTimeField(null=True)
    within = models.BooleanField(null=True)
    competence = models.ForeignKey(Competence, on_delete=models.PROTECT, null=True, related_name="+")
    decided_at = models.DateTimeField(null=True)
    decided_by = models.ForeignKey(Person, on_delete=models.PROTECT, null=True, related_name="+")
    decision = models.CharField(max_length=300, blank=True)

    class Meta:
        """A label once a plant."""

        constraints = (models.UniqueConstraint(fields=("site", "label"), name="blind_label_once"),)

    @property
    def state(self) -> str:
        """Where it stands."""
        if not self.read_at:
            return "waits to be read"
        if not self.decided_at:
            return "read, waits for a decision"
        return "competence recorded" if self.competence_id else "closed without competence"

    @property
    def shape(self) -> str:
        """The mark of its state."""
        if self.within is None:
            return "wait"
        if not self.within:
            return "fail"
        return "pass" if self.competence_id else "hold" if self.decided_at else "due"

    @property
    def shown_expected(self) -> Any:
        """The known value, once it may be known."""
        return self.expected if self.read_at else "hidden until it is read"

    def __str__(self) -> str:
        return f"Blind reference {self.label}"
