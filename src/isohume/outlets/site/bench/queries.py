"""The questions asked of lots, cups and runs: what waits to be read, what waits for a second keying, what was read."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime

from django.db.models import Count, Exists, OuterRef, Q, QuerySet

from isohume.outlets.site.bench.actions.decided import DECIDED
from isohume.outlets.site.bench.models import Portion, Run, SecondKeying
from isohume.outlets.site.people.models import Person, Site
from isohume.outlets.site.people.roles import KEYS_SECOND
from isohume.outlets.site.register.models import MethodVersion

COUNTS = Q(void_reason="", corrected_by=None)
OF_LOT = ("sample__lot__product", "sample__lot__specification", "sample__lot__site")
OF_RUN = ("instrument", "by", "portion__sample__lot__product", "portion__sample__lot__specification")
MOST_WAITING = 200


def portions_of(site: Site) -> QuerySet[Portion]:
    """The cups of a plant with their lot, and how many runs of each count (`reads`)."""
    counts = Count("runs", filter=Q(runs__void_reason="", runs__corrected_by=None))
    return Portion.objects.filter(sample__lot__site=site).select_related(*OF_LOT).annotate(reads=counts)


def waiting(site: Site) -> list[Portion]:
    """The cups that wait to be read, those that came first at the top; decided lots wait for nothing."""
    found = portions_of(site).filter(done=False).exclude(sample__lot__state__in=DECIDED)
    return list(found.order_by("sample__lot__received_at", "sample__lot", "sample", "pk")[:MOST_WAITING])


def versions_in_force(site: Site) -> dict[int, MethodVersion]:
    """The version in force of every method of a plant, by the method's key."""
    versions = MethodVersion.objects.filter(method__site=site).select_related("method").order_by("pk")
    return {version.method_id: version for version in versions}


def runs_of(site: Site) -> QuerySet[Run]:
    """The runs of a plant with what a line about each needs."""
    return Run.objects.filter(portion__sample__lot__site=site).select_related(*OF_RUN)


def last_runs(site: Site, since: datetime, most: int = 12) -> list[Run]:
    """What was recorded last, newest first."""
    return list(runs_of(site).filter(entered_at__gte=since).order_by("-pk")[:most])


def to_key_second(site: Site, person: Person) -> list[Run]:
    """Typed runs that wait for this person's second keying: they count, others typed them, none agrees yet."""
    found = _to_key(runs_of(site), person)
    return list(found.order_by("portion__sample__lot__received_at", "portion__sample__lot", "pk")[:MOST_WAITING])


def hidden_from(person: Person, runs: Iterable[Run]) -> set[int]:
    """Of these runs, the keys of those whose number the person may yet key a second time, and so is not shown."""
    if not person.holds(*KEYS_SECOND):
        return set()
    return set(_to_key(Run.objects.filter(pk__in=[run.pk for run in runs]), person).values_list("pk", flat=True))


def _to_key(runs: QuerySet[Run], person: Person) -> QuerySet[Run]:
    keyings = SecondKeying.objects.filter(run=OuterRef("pk"))
    return (
        runs.filter(COUNTS, imported=None, trace_sha256="")
        .exclude(by=person)
        .exclude(portion__sample__lot__state__in=DECIDED)
        .exclude(Exists(keyings.filter(Q(agrees=True) | Q(by=person))))
    )


def not_keyed(runs: Iterable[Run]) -> list[Run]:
    """Of these runs, those that count, were typed, and have no second keying that agrees yet."""
    keys = [run.pk for run in runs]
    agreed = set(SecondKeying.objects.filter(run__in=keys, agrees=True).values_list("run_id", flat=True))
    return [run for run in runs if run.counts and run.typed and run.pk not in agreed]
