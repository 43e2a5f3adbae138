"""Taking in what an agent's spool holds: each entry once, in its order, with how far it went in one transaction.

All readings of a run in one request become one piece of its trace. Nothing that was taken in disappears: a reading
that came twice is counted, readings that come after a run's end are kept with it. Entries of a copy of the spool that
went its own way are not taken for those of the spool itself.
"""

from __future__ import annotations

from datetime import datetime

from isohume.foundation.quantity.errors import IsohumeError
from isohume.outlets.site.captures.clock import AGREE, Clock
from isohume.outlets.site.captures.models import Agent, Spool
from isohume.outlets.site.captures.taking import Taking
from isohume.outlets.site.captures.wire import Posted
from isohume.outlets.site.ledger.writing import writing


class NotKnown(IsohumeError):  # noqa: N818 - it is an answer, not a fault
    """The agent was revoked while its request was on its way, or the spool is another agent's."""


class Gap(IsohumeError):  # noqa: N818 - it is an answer, not a fault
    """The first entry is not the next one; `last` is the last one that was taken in."""

    def __init__(self, last: int, first: int) -> None:
        self.last = last
        super().__init__(f"entry {first} came, and {last + 1} is the next one")


class AnotherSpool(IsohumeError):  # noqa: N818 - it is an answer, not a fault
    """The entries do not follow those that were taken in under this spool's name: a copy that went its own way."""

    def __init__(self, last: int) -> None:
        super().__init__(
            f"another spool under this name: up to entry {last} the site holds other entries. A copied disk, or a "
            "spool put back from an older copy. Nothing was taken"
        )


def take(agent: Agent, posted: Posted, now: datetime) -> Spool:
    """Take in what is new; returns the spool as it stands then.

    Raises: Gap; AnotherSpool; NotKnown; InputError with the entry's number in `row`: and then nothing of the request
    was taken in.
    """
    with writing(now) as evidence:  # without a run's end nothing is written into the ledger
        clock = Clock(posted.now, now, posted.steady, posted.boot)
        _seen(agent, posted, clock)
        spool = _spool(agent, posted.spool)
        _same(spool, posted)
        fresh = [entry for entry in posted.entries if entry.n > spool.last]
        if fresh and fresh[0].n != spool.last + 1:
            raise Gap(spool.last, fresh[0].n)
        if fresh:
            Taking(agent, spool, clock).take(fresh, evidence)
            spool.last = fresh[-1].n
            spool.chain = posted.chain.after[-1] if posted.chain else ""
            spool.save(update_fields=["last", "chain"])
    return spool


def _same(spool: Spool, posted: Posted) -> None:
    """Whether what came follows what was taken in, as far as one digest tells.

    A spool without a digest is an older agent's, or has just begun: what comes with one is taken once, and from then
    on it must follow. Entries that all lie before the last one cannot be compared; nothing of them is taken.
    """
    first = posted.entries[0].n if posted.entries else 0
    if not spool.chain or not first or first > spool.last + 1:
        return
    chain = posted.chain
    if chain is None:
        raise AnotherSpool(spool.last)
    place = spool.last - first
    if place >= len(chain.after):
        return
    if (chain.before if place < 0 else chain.after[place]) != spool.chain:
        raise AnotherSpool(spool.last)


def last_taken(agent: Agent, key: str) -> int:
    """The last entry of a spool that was taken in; 0 for one that is not known yet."""
    found = Spool.objects.filter(key=key, agent__site=agent.site).values_list("last", flat=True).first()
    return found or 0


def _seen(agent: Agent, posted: Posted, clock: Clock) -> None:
    offset = clock.offset.total_seconds()
    known = Agent.objects.filter(pk=agent.pk, revoked_at=None).update(
        last_seen_at=clock.now,
        backlog=posted.waiting,
        clock_offset_s=offset if abs(clock.offset) > AGREE else 0.0,
    )
    if not known:
        raise NotKnown("this agent's token was revoked")


def _spool(agent: Agent, key: str) -> Spool:
    """The agent's spool; one of a revoked agent of the plant goes on under the token that took its place."""
    spool, _ = Spool.objects.select_related("agent").get_or_create(key=key, defaults={"agent": agent})
    if spool.agent_id != agent.pk:
        if spool.agent.revoked_at is None or spool.agent.site_id != agent.site_id:
            raise NotKnown("this spool belongs to another agent")
        spool.agent = agent
        spool.save(update_fields=["agent"])
    return spool
