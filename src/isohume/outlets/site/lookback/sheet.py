"""The paper of a look-back: the same list, pictures and window as its page, with room to write at the store."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from datetime import datetime
from zoneinfo import ZoneInfo

from isohume.bench.record.canonical_form import canonical
from isohume.outlets.paper.look_back_sheet import Sheet
from isohume.outlets.paper.sheet_frame import Row
from isohume.outlets.site.checks.models import Check
from isohume.outlets.site.lookback.actions.hold_list import list_of
from isohume.outlets.site.lookback.page import LookBackPage, look_back_page
from isohume.outlets.site.lookback.page import Row as PageRow
from isohume.outlets.site.lookback.pictures import picture_of
from isohume.outlets.site.lookback.words import conforms, corrected_words, held_words, u_words

NOT_HELD = "Not held by one act yet."


def sheet_of(check: Check, now: datetime) -> Sheet:
    """The sheet of a failed check as it stands now.

    Raises: InputError where the check passed or is void.
    """
    page = look_back_page(check, now)
    site = check.instrument.site
    held = [held_words(hold, page) for hold in page.holds]
    return Sheet(
        name=f"look-back-{check.pk}",
        site=f"{site.name}, {site.laboratory}",
        title=f"Look-back on check {check.pk} of {check.instrument.name}",
        at=now.astimezone(ZoneInfo(site.time_zone)),
        answer=page.answer,
        holds=f"Lots read on {check.instrument.name} since its last good check. Now: {page.states or 'none'}.",
        signed=held[-1] if held else NOT_HELD,
        digest=hashlib.sha256(canonical(list_of(page.looked))).hexdigest(),
        picture=picture_of(page),
        lots=[_lot(row) for row in page.rows],
        acts=[_act(row) for row in page.rows],
        references=list(_references(page)),
        window=[*page.window, f"Range that failed: {page.ranges}."],
        stands_on=_stands_on(page, held),
    )


def _lot(row: PageRow) -> Row:
    result = row.result
    verdicts = f"{result.given.verdict_before or 'not judged'}, {result.decision.verdict}"
    numbers = (f"{float(result.given.value):.4f}", corrected_words(result), u_words(result))
    note = "; ".join(result.bias.reasons)
    return (row.lot.code, *numbers, conforms(result), verdicts, row.lot.state, ""), note


def _act(row: PageRow) -> Row:
    sent = [
        f"{one.quantity} to {one.consignee} on {one.shipped_on.isoformat()}"
        + (f", tell {one.contact}" if one.contact else "")
        + (" (told)" if one.told.all() else "")
        for one in row.where.shipments
    ]
    return (row.lot.code, row.retest, "; ".join(sent) or "in-house"), ""


def _references(page: LookBackPage) -> Iterator[Row]:
    within = {r.name: r.within for r in page.looked.back.window.references}
    for p in sorted(page.looked.back.points, key=lambda point: point.a_w):
        cells = (f"{p.a_w:.4f}", f"{p.read:.4f}", f"{p.deviation:+.4f}".replace("-", "\N{MINUS SIGN}"), f"{p.u:.4f}")
        yield (p.name, *cells, "within" if within.get(p.name) else "not within"), ""


def _stands_on(page: LookBackPage, held: list[str]) -> list[tuple[str, str]]:
    check = page.check
    return [
        ("Failed check", f"{check.pk}, {check.kind}, {page.moment(check.first_read_at)}, by {check.by.printed_name}"),
        ("Rule", "the full bias between the two references about a value, back to the last good check"),
        ("u of a corrected value", "u of the value and u of the bias; the instrument's own part counted once"),
        ("Held", " ".join(held) or NOT_HELD),
    ]
