"""Whether a service begins the walk anew: only a calibration that somebody outside the plant answers for does."""

from __future__ import annotations

from collections.abc import Sequence

from isohume.outlets.site.people.models import Person, Site

GOES_ON = "the walk of all changes together goes on"
SHORTEST = 3  # letters and digits of a certificate's number


def against_anew(kind: str, certificate: str, done_by: str, readings: Sequence[object], site: Site) -> tuple[str, ...]:
    """Why all changes of scale before it still count; none where it begins anew.

    A number of a certificate, the report's own figures, and nobody of the plant: a mere word would empty the sum.
    """
    if kind != "service":
        return ("it was no service",)
    found = []
    signs = [sign for sign in certificate if sign.isalnum()]
    if len(signs) < SHORTEST or not any(sign.isdigit() for sign in signs):
        found.append("no calibration certificate with its number")
    if not readings:
        found.append("no figures of the report, as found and as left")
    if _of_the_plant(done_by, site):
        found.append(f"{done_by} is a person of the plant")
    return tuple(found)


def _of_the_plant(done_by: str, site: Site) -> bool:
    """By user name or printed name, also with words about it: who adjusts here does not calibrate anew."""
    said = f" {_words(done_by)} "
    names = (name for pair in Person.objects.filter(site=site).values_list("username", "printed_name") for name in pair)
    return any(known and f" {known} " in said for known in map(_words, names))


def _words(text: str) -> str:
    kept = "".join(sign if sign.isalnum() else " " for sign in text.casefold())
    return " ".join(kept.split())
