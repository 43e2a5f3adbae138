"""A scanned or typed code of a cup: iso:p:12 is cup 12."""

from __future__ import annotations

import re

from isohume.outlets.site.bench.models import Portion
from isohume.outlets.site.bench.queries import portions_of
from isohume.outlets.site.people.models import Site

_PORTION = re.compile(r"iso:p:(\d{1,15})", re.ASCII | re.IGNORECASE)


def scanned_portion(typed: str, site: Site) -> Portion | None:
    """The cup of a code; None where there is none at this plant."""
    read = _PORTION.fullmatch(typed.strip())
    return portions_of(site).filter(pk=int(read[1])).first() if read else None
