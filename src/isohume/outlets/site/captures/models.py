"""Bench agents, the runs they brought, and what a person said that the next run of an instrument will be.

A captured run is what an instrument gave; it becomes a reading only where a person accepts it. Its trace grows in
chunks and is kept as evidence, under its digest, when it ends.
"""

from __future__ import annotations

from django.db import models

from isohume.outlets.site.bench.models import Portion, Run
from isohume.outlets.site.checks.models import Check
from isohume.outlets.site.config.named import Named
from isohume.outlets.site.people.models import Person, Site
from isohume.outlets.site.register.models import Bottle, Instrument

FATES = ("waiting", "accepted", "checked", "void")


class Agent(Named):
    """A bench computer that brings runs; known by the digest of its token, which is shown once."""

    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="agents")
    name = models.CharField(max_length=60)
    token_sha256 = models.CharField(max_length=64, unique=True)
    registered_at = models.DateTimeField()
    by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    revoked_at = models.DateTimeField(null=True)
    last_seen_at = models.DateTimeField(null=True)
    backlog = models.PositiveIntegerField(default=0)  # entries that waited at the agent when it was last heard
    clock_offset_s = models.FloatField(null=True)  # the agent's clock less the server's, when last heard

    class Meta:
        """A name once a plant."""

        constraints = (models.UniqueConstraint(fields=("site", "name"), name="agent_name_once"),)

    @property
    def ledger_name(self) -> str:
        """As the ledger names who wrote a line: no person's user name has a space."""
        return f"bench agent {self.name}"

    def __str__(self) -> str:
        return self.name


class Spool(models.Model):
    """How far an agent's spool was taken in: entries come in their order, each once."""

    agent = models.ForeignKey(Agent, on_delete=models.PROTECT, related_name="spools")
    key = models.CharField(max_length=40)
    last = models.PositiveBigIntegerField(default=0)
    chain = models.CharField(max_length=64, blank=True)  # the digest over its entries at `last`; '' of an older agent

    class Meta:
        """A spool belongs to one agent."""

        constraints = (models.UniqueConstraint(fields=("key",), name="spool_once"),)


class InstrumentState(models.Model):
    """What an instrument last said of itself outside a run, such as warming up, and its block's temperature."""

    instrument = models.OneToOneField(Instrument, on_delete=models.PROTECT, related_name="state_said")
    state = models.CharField(max_length=60, blank=True)
    block_temperature_c = models.CharField(max_length=12, blank=True)
    at = models.DateTimeField()


class CapturedRun(Named):
    """One run as an instrument gave it. `fate` says what became of it; nothing of it ever disappears."""

    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="captured_runs")
    instrument = models.ForeignKey(Instrument, on_delete=models.PROTECT, related_name="captured_runs")
    agent = models.ForeignKey(Agent, on_delete=models.PROTECT, related_name="captured_runs")
    spool = models.ForeignKey(Spool, on_delete=models.PROTECT, related_name="+")
    key = models.CharField(max_length=40)  # the agent's own name of the run
    number = models.CharField(max_length=40, blank=True)  # the instrument's own sequence number
    started_at = models.DateTimeField()
    time_doubt = models.CharField(max_length=120, blank=True)  # why `started_at` is not certain; '' where it is
    ended_at = models.DateTimeField(null=True)
    end_reason = models.CharField(max_length=60, blank=True)
    readings = models.PositiveIntegerField(default=0)
    repeats = models.PositiveIntegerField(default=0)  # readings that came twice and were kept once
    last_elapsed_s = models.CharField(max_length=16, blank=True)
    last_a_w = models.CharField(max_length=16, blank=True)
    trace_sha256 = models.CharField(max_length=64, blank=True)  # of the evidence file, once it has ended
    portion = models.ForeignKey(Portion, on_delete=models.PROTECT, null=True, related_name="captured_runs")
    bottle = models.ForeignKey(Bottle, on_delete=models.PROTECT, null=True, related_name="captured_runs")
    assigned_at = models.DateTimeField(null=True)
    assigned_by = models.ForeignKey(Person, on_delete=models.PROTECT, null=True, related_name="+")
    fate = models.CharField(max_length=10, default="waiting", choices=[(f, f) for f in FATES])
    run = models.OneToOneField(Run, on_delete=models.PROTECT, null=True, related_name="captured")
    check_made = models.ForeignKey(Check, on_delete=models.PROTECT, null=True, related_name="captured_runs")
    void_cause = models.CharField(max_length=40, blank=True)
    void_reason = models.CharField(max_length=1000, blank=True)
    voided_at = models.DateTimeField(null=True)
    voided_by = models.ForeignKey(Person, on_delete=models.PROTECT, null=True, related_name="+")

    class Meta:
        """An agent's name of a run once a spool; found by instrument and time."""

        constraints = (models.UniqueConstraint(fields=("spool", "key"), name="captured_once"),)
        indexes = (
            models.Index(fields=("instrument", "started_at"), name="captured_by_time"),
            models.Index(fields=("site", "fate"), name="captured_by_fate"),
        )

    @property
    def of(self) -> Portion | Bottle | None:
        """The cup or the bottle that was read; None for an orphan."""
        return self.portion or self.bottle

    @property
    def of_words(self) -> str:
        """The same in words."""
        return f"cup {self.portion}" if self.portion else f"{self.bottle}" if self.bottle else ""

    @property
    def named(self) -> str:
        """As lists call it: by the instrument's number where it gave one."""
        return f"number {self.number}" if self.number else f"captured run {self.pk}"

    def __str__(self) -> str:
        return f"captured run {self.pk} on {self.instrument}"


class Chunk(models.Model):
    """A piece of a growing trace, in the compact form; pieces are taken away once the whole is kept as evidence."""

    run = models.ForeignKey(CapturedRun, on_delete=models.CASCADE, related_name="chunks")
    first = models.PositiveIntegerField()
    count = models.PositiveIntegerField()
    body = models.BinaryField()

    class Meta:
        """A piece once."""

        constraints = (models.UniqueConstraint(fields=("run", "first"), name="chunk_once"),)


class UnreadLine(models.Model):
    """A line that the laboratory's rule did not read, as the agent brought it: kept whole, and counted."""

    instrument = models.ForeignKey(Instrument, on_delete=models.PROTECT, related_name="unread_lines")
    spool = models.ForeignKey(Spool, on_delete=models.PROTECT, related_name="+")
    n = models.PositiveBigIntegerField()  # its number in the spool
    at = models.DateTimeField()
    reason = models.CharField(max_length=60, blank=True)
    line = models.CharField(max_length=2000, blank=True)

    class Meta:
        """A line once; found by instrument and time."""

        constraints = (models.UniqueConstraint(fields=("spool", "n"), name="unread_once"),)
        indexes = (models.Index(fields=("instrument", "at"), name="unread_by_time"),)


class Expected(Named):
    """A person's word that the next run of an instrument is of this cup, or of this bottle."""

    instrument = models.ForeignKey(Instrument, on_delete=models.PROTECT, related_name="expected")
    portion = models.ForeignKey(Portion, on_delete=models.PROTECT, null=True, related_name="expected")
    bottle = models.ForeignKey(Bottle, on_delete=models.PROTECT, null=True, related_name="expected")
    taken = models.OneToOneField(CapturedRun, on_delete=models.PROTECT, null=True, related_name="expected")
    dropped_at = models.DateTimeField(null=True)
    at = models.DateTimeField()
    by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")

    @property
    def of_words(self) -> str:
        """What is next, in words."""
        return f"cup {self.portion}" if self.portion else f"{self.bottle}"

    def __str__(self) -> str:
        return f"{self.of_words} next on {self.instrument}"


class NoticeChoice(models.Model):
    """How a person wants to be told that a run has settled or gone wrong; nothing is chosen to begin with."""

    person = models.OneToOneField(Person, on_delete=models.CASCADE, related_name="notices")
    sound = models.BooleanField(default=False)
    browser = models.BooleanField(default=False)
