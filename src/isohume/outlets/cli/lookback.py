"""`isohume lookback FOLDER --instrument ID`: which lots are at risk since the last good check?"""

from __future__ import annotations

import time
from datetime import datetime
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

from isohume.foundation.quantity.errors import InputError
from isohume.outlets.cli.arguments import Arguments
from isohume.outlets.cli.output import facts, listed, parts, percent, print_json, print_text, table
from isohume.outlets.cli.site_folder import site_read_only

if TYPE_CHECKING:
    from isohume.outlets.cli.looked_checks import LookedChecks
    from isohume.outlets.site.checks.models import Check
    from isohume.outlets.site.lookback.queries import Looked
    from isohume.outlets.site.register.models import Instrument

EXAMPLE = "isohume lookback demo-plant --instrument OW-1"
LARGEST = 10**15
CAUTION = (
    "A corrected value says what to test again; it never releases a lot. isohume supports, and does not replace, the "
    "process authority, the regulator and the validated method."
)


def run(arguments: list[str]) -> int:
    """List the lots at risk, worst first; 1 where there is one, 0 where there is none."""
    parser = Arguments("lookback", "The lots that a failed check puts at risk, worst first.", EXAMPLE)
    parser.path("folder", help="the data folder of the site (isohume serve --data); it is read and never written")
    parser.once("--instrument", metavar="ID", required=True, help="the instrument's name as people write it, or number")
    parser.once(
        "--check",
        metavar="ID",
        help="number of a failed check (default: the last one, and those before it that no check answered)",
    )
    given = parser.parse_args(arguments)
    with site_read_only(given.folder):
        from isohume.outlets.cli.looked_checks import LookedChecks
        from isohume.outlets.site.lookback.queries import looked_back

        instrument = _instrument(given.instrument)
        begun = time.perf_counter()
        looked = LookedChecks([looked_back(check) for check in _checks(instrument, given.check)])
        took = time.perf_counter() - begun
        content = as_json(instrument, looked)
        text = "" if given.json else readable(instrument, looked, took)
    if given.json:
        print_json(content)
    else:
        print_text(text)
    return 1 if content["count"] else 0


def _number(text: str) -> int | None:
    return int(text) if text.isascii() and text.isdigit() and int(text) < LARGEST else None


def _instrument(text: str) -> Instrument:
    """By its name in any case, or its number; a name that two plants use is asked for by number."""
    from isohume.outlets.site.register.models import Instrument

    known = Instrument.objects.select_related("site").order_by("name", "pk")
    named = [one for one in known if one.name.casefold() == text.strip().casefold()]
    if not named and (number := _number(text.strip())) is not None:
        named = [one for one in known if one.pk == number]
    if len(named) == 1:
        one: Instrument = named[0]
        return one
    if named:
        raise InputError("instrument", text, "its number: " + ", ".join(f"{i.pk} of {i.site.name}" for i in named))
    listed_names = ", ".join(f"{one.name} ({one.pk})" for one in known[:20]) or "none is registered"
    raise InputError("instrument", text, f"an instrument of this folder: {listed_names}")


def _checks(instrument: Instrument, text: str | None) -> list[Check]:
    """The failed check asked for, or the last one with those before it that no check answered."""
    from isohume.outlets.site.checks.models import Check
    from isohume.outlets.site.lookback.queries import failed_checks, unanswered

    if text is None:
        return unanswered(instrument)
    failed = failed_checks(instrument)
    number = _number(text.strip())
    found = None if number is None else Check.objects.filter(pk=number, instrument=instrument).first()
    if found is not None and not found.passed and found.voided_at is None:
        return [failed.get(pk=found.pk)]
    numbers = ", ".join(str(one.pk) for one in failed[:5])
    allowed = f"a failed check of {instrument.name} that is not void: {numbers or 'it has none'}"
    what = "" if found is None else " (void)" if found.voided_at else " (passed)"
    raise InputError("check", f"{text}{what}", allowed)


def as_json(instrument: Instrument, looked: LookedChecks) -> dict[str, Any]:
    """The keys of the command line's contract, and the window; of several failed checks the list they make together."""
    last_good = looked.last_good
    return {
        "failed_check": looked.backs[0].check.pk if looked.backs else None,
        "since": _iso(looked.since, instrument),
        "count": len(looked.results),
        "results": [{**result.as_json(), "failed_check": looked.check_of(result).pk} for result in looked.results],
        "instrument": instrument.name,
        "failed_checks": [one.check.pk for one in looked.backs],
        "failed_at": _iso(looked.backs[0].check.first_read_at if looked.backs else None, instrument),
        "until": _iso(looked.until, instrument),
        "last_good_check": None if last_good is None else last_good.id,
        "not_touched": [result.as_json() for result in looked.beside],
    }


def _iso(moment: datetime | None, instrument: Instrument) -> str | None:
    return None if moment is None else moment.astimezone(ZoneInfo(instrument.site.time_zone)).isoformat()


def readable(instrument: Instrument, looked: LookedChecks, took: float) -> str:
    """How many first, then the window, the references, the lots."""
    from isohume.outlets.site.lookback.words import beyond_words

    if not looked.backs:
        return f"No check of {instrument.name} failed: there is nothing to look back on."
    last = looked.last_good
    beyond = sum(result.beyond for result in looked.results)
    doubted = sum(not result.bias.believed for result in looked.results)
    rows = [
        ("lots at risk", f"{len(looked.results)}, {beyond_words(beyond, doubted)}"),
        *(("failed check", _failed(one.check, instrument)) for one in looked.backs),
        ("since", _since(looked, instrument)),
        ("last good check", "none" if last is None else f"{last.id}, {last.kind}"),
        ("until", _until(looked, instrument)),
        ("took", f"{took:.3f} s"),
    ]
    beside = [
        f"{one.given.lot}: {float(one.given.value):.4f} lies between references that were within; not touched."
        for one in looked.beside
    ]
    references = [_references(one, len(looked.backs) > 1) for one in looked.backs]
    return parts(facts(rows), *references, _lots(looked), listed("Beside", beside), CAUTION)


def _failed(check: Check, instrument: Instrument) -> str:
    return f"{check.pk} of {instrument.name}, {_moment(check.first_read_at, instrument)}"


def _moment(moment: datetime, instrument: Instrument) -> str:
    return moment.astimezone(ZoneInfo(instrument.site.time_zone)).isoformat(sep=" ", timespec="minutes")


def _since(looked: LookedChecks, instrument: Instrument) -> str:
    since = looked.since
    return "the beginning: no earlier check covers the range" if since is None else _moment(since, instrument)


def _until(looked: LookedChecks, instrument: Instrument) -> str:
    until = looked.until
    return "now: no check that covers the range has passed since" if until is None else _moment(until, instrument)


def _references(looked: Looked, named: bool) -> str:
    first = f"reference of check {looked.check.pk}" if named else "reference"
    rows = [
        (point.name, f"{point.a_w:.4f}", f"{point.read:.4f}", f"{point.deviation:+.4f}", f"{point.u:.4f}")
        for point in sorted(looked.back.points, key=lambda point: point.a_w)
    ]
    return table((first, "expected", "read", "deviation", "u"), rows, right=range(1, 5))


def _lots(looked: LookedChecks) -> str:
    from isohume.outlets.site.lookback.words import corrected_words, u_words

    header = ("lot", "value", "corrected", "u", "conforms", "verdict before", "after", "state")
    rows = []
    for one in looked.results:
        probability = one.decision.probability_of_conformity
        state = looked.state_of(one)
        rows.append(
            (
                one.given.lot,
                f"{float(one.given.value):.4f}",
                f"{corrected_words(one)}{' (beyond the references)' if one.bias.outside else ''}",
                u_words(one),
                "not known" if probability is None else percent(probability),
                one.given.verdict_before or "not judged",
                one.decision.verdict,
                state,
            )
        )
    return table(header, rows, right=range(1, 5)) if rows else "No lot is at risk."
