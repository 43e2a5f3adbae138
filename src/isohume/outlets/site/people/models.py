"""People: named accounts, their roles and their competence."""

from __future__ import annotations

from datetime import date

from django.contrib.auth.base_user import AbstractBaseUser, BaseUserManager
from django.db import models

from isohume.outlets.site.people.roles import Role


class Site(models.Model):
    """A plant: everything belongs to one, and nobody sees another's."""

    key = models.SlugField(max_length=40, unique=True)
    name = models.CharField(max_length=120)
    laboratory = models.CharField(max_length=120, blank=True)
    address = models.CharField(max_length=200, blank=True)
    time_zone = models.CharField(max_length=60, default="UTC")
    idle_minutes = models.PositiveSmallIntegerField(default=15)

    @property
    def ref(self) -> str:
        """The name of this object in the ledger."""
        return f"site:{self.pk}"

    def __str__(self) -> str:
        return self.name


class People(BaseUserManager["Person"]):
    """Finds people by user name, in any case: two names that differ in case only would be one person."""

    def get_by_natural_key(self, username: str | None) -> Person:
        """The person who signs in with this name."""
        return self.get(username=(username or "").strip().casefold())

    def active(self, site: Site) -> models.QuerySet[Person]:
        """Who may sign in at a site."""
        return self.filter(site=site, is_active=True)


class Person(AbstractBaseUser):
    """A named account; deactivated, never deleted, its user name never given again."""

    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="people")
    username = models.CharField(max_length=60, unique=True)
    printed_name = models.CharField(max_length=120)
    roles = models.JSONField(default=list)
    is_active = models.BooleanField(default=True)
    policy_accepted_at = models.DateTimeField(null=True)
    created_at = models.DateTimeField(auto_now_add=True)

    USERNAME_FIELD = "username"
    objects = People()

    @property
    def ref(self) -> str:
        """The name of this object in the ledger."""
        return f"person:{self.pk}"

    def holds(self, *roles: Role) -> bool:
        """Whether the person holds one of these roles."""
        return bool(set(self.roles) & set(roles))

    def __str__(self) -> str:
        return self.printed_name


class Invitation(models.Model):
    """A one-time link with which a person sets a password; only its digest is kept."""

    person = models.ForeignKey(Person, on_delete=models.PROTECT, null=True)
    token_digest = models.CharField(max_length=64, unique=True)
    expires_at = models.DateTimeField()
    used_at = models.DateTimeField(null=True)


class Competence(models.Model):
    """A person shown competent in a method, until a lapse date."""

    person = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="competences")
    method = models.ForeignKey("register.Method", on_delete=models.PROTECT, related_name="competences")
    shown_on = models.DateField()
    lapses_on = models.DateField()
    evidence = models.CharField(max_length=300)

    @property
    def ref(self) -> str:
        """The name of this object in the ledger."""
        return f"competence:{self.pk}"

    def holds_on(self, day: date) -> bool:
        """Whether it holds on a day; the lapse date is the last day it holds."""
        return self.shown_on <= day <= self.lapses_on
