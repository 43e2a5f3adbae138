"""Jobs: long work that a page asks for and the worker process does."""

from __future__ import annotations

from django.db import models

from isohume.outlets.site.people.models import Person, Site

STATES = ("queued", "running", "done", "failed")


class Job(models.Model):
    """One piece of work with how far it is; `result` is a path below the data folder."""

    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="jobs")
    kind = models.CharField(max_length=40)
    argument = models.JSONField(default=dict)
    state = models.CharField(max_length=10, default="queued", choices=[(s, s) for s in STATES])
    progress = models.PositiveSmallIntegerField(default=0)
    message = models.CharField(max_length=500, blank=True)
    result = models.CharField(max_length=300, blank=True)
    attempts = models.PositiveSmallIntegerField(default=0)
    created_by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    created_at = models.DateTimeField(auto_now_add=True)
    started_at = models.DateTimeField(null=True)
    finished_at = models.DateTimeField(null=True)

    class Meta:
        """Found by state, oldest first."""

        indexes = (models.Index(fields=("state", "id"), name="job_by_state"),)
