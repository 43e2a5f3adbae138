"""What a deviation is about besides lot, run and check: an instrument whose chart signals, a round, a supplier lot."""

from __future__ import annotations

from django.apps import apps
from django.urls import NoReverseMatch

from isohume.outlets.site.config.named import Named
from isohume.outlets.site.lots.models import Deviation


def about_of(deviation: Deviation) -> Named | None:
    """The object that its `about` names in the ledger's manner (`blindreference:3`), where it has a page."""
    kind, _, number = deviation.about.partition(":")
    model = next((one for one in apps.get_models() if one._meta.model_name == kind and issubclass(one, Named)), None)
    if model is None or not number.isdigit():
        return None
    found: Named | None = model._default_manager.filter(pk=int(number)).first()
    try:
        return None if found is None or not found.get_absolute_url() else found
    except NoReverseMatch:
        return None


def named_about(found: Named | None) -> str:
    """What kind of object it is and how people call it: Instrument OW-1."""
    if found is None:
        return ""
    kind, called = str(found._meta.verbose_name), str(found)
    kind = kind[:1].upper() + kind[1:]
    return called if called.casefold().startswith(kind.casefold()) else f"{kind} {called}"
