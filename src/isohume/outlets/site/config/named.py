"""What every object of the register and the bench shares: its name in the ledger and its own page."""

from __future__ import annotations

from django.db import models
from django.urls import reverse


class Named(models.Model):
    """An object with a name in the ledger (`method:3`) and a page (`/.../3/`), both made from its class name."""

    class Meta:
        """No table of its own."""

        abstract = True

    @property
    def ref(self) -> str:
        """The name of this object in the ledger."""
        return f"{self._meta.model_name}:{self.pk}"

    def get_absolute_url(self) -> str:
        """The object's own page; its url is called as its class, in small letters."""
        return reverse(str(self._meta.model_name), args=[self.pk])
