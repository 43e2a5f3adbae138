"""The token of a bench agent: shown once, kept as its digest only."""

from __future__ import annotations

import hashlib
import hmac
import re
import secrets

from isohume.outlets.site.captures.models import Agent

_BEARER = re.compile(r"Bearer ([\x21-\x7e]{16,200})", re.ASCII)


def new_token() -> str:
    """A token nobody can guess: 256 bits."""
    return secrets.token_urlsafe(32)


def digest_of(token: str) -> str:
    """What is kept of a token. It is long and random, so that a plain digest is as good as a slow one."""
    return hashlib.sha256(token.encode()).hexdigest()


def agent_of(authorization: str) -> Agent | None:
    """The agent whose token a request carries; None for an unknown or a revoked one.

    The table is asked for the digest, which says nothing about a token; what is found is compared in constant time.
    """
    read = _BEARER.fullmatch(authorization.strip())
    if read is None:
        return None
    digest = digest_of(read[1])
    found = Agent.objects.select_related("site").filter(token_sha256=digest, revoked_at=None).first()
    return found if found is not None and hmac.compare_digest(found.token_sha256, digest) else None
