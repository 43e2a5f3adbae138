"""What the forms of this app share: which instrument and method a field names, and a moment to start a field with."""

from __future__ import annotations

import re
from datetime import datetime

from django.utils import timezone

from isohume.foundation.quantity.errors import InputError
from isohume.outlets.site.config.keys import read_key
from isohume.outlets.site.people.models import Site
from isohume.outlets.site.register.models import Instrument, Method, MethodVersion

_SCANNED = re.compile(r"(?:iso:i:)?(\d{1,15})", re.ASCII)


def instrument_named(typed: str, site: Site) -> Instrument:
    """The instrument a field names: its name, a scanned code, or its number.

    Raises: InputError where the plant has none of that name.
    """
    text = typed.strip()
    instruments = Instrument.objects.filter(site=site).select_related("site")
    found = instruments.filter(name=text).first()
    scanned = _SCANNED.fullmatch(text)
    if found is None and scanned is not None:
        found = instruments.filter(pk=int(scanned[1])).first()
    if found is None:
        raise InputError("instrument", text or "nothing", "an instrument of this plant: scan it, or its name")
    return found


def method_chosen(typed: str, site: Site) -> MethodVersion:
    """The version in force of a method of the plant.

    Raises: InputError for anything else.
    """
    versions = MethodVersion.objects.filter(method__site=site).select_related("method__site")
    key = read_key(typed)
    found = versions.filter(pk=key).first() if key is not None else None
    if found is None or found.method.current != found:
        raise InputError("method_version", typed or "nothing", "a method of this plant, in the version in force")
    return found


def method_options(site: Site) -> list[tuple[int, str]]:
    """The methods of a plant in the version in force, to pick from."""
    methods = Method.objects.filter(site=site).prefetch_related("versions").order_by("name")
    last = [max(method.versions.all(), key=lambda v: v.pk, default=None) for method in methods]
    return [(version.pk, str(version)) for version in last if version is not None]


def local_minute(at: datetime) -> str:
    """A moment as a field for date and time holds it: the plant's time, to the minute."""
    return timezone.localtime(at).strftime("%Y-%m-%dT%H:%M")
