"""The templates' environment: what every template may use."""

from __future__ import annotations

import secrets
from typing import Any

from django.conf import settings
from django.templatetags.static import static
from django.urls import reverse
from jinja2 import Environment, StrictUndefined

from isohume.outlets.site.config import words
from isohume.version import __version__


def environment(**options: Any) -> Environment:
    """Jinja2 with escaping on, undefined names refused, and the site's few words and filters."""
    env = Environment(**{**options, "undefined": StrictUndefined, "trim_blocks": True, "lstrip_blocks": True})
    env.globals.update(
        static=static,
        url=lambda name, *args: reverse(name, args=args),
        version=__version__,
        fresh_mark=lambda: secrets.token_hex(8),
        live_origin=settings.LIVE_ORIGIN,
    )
    env.filters.update(
        moment=words.moment, day=words.day, clock=words.clock, rounded=words.rounded, percent=words.percent
    )
    return env
