"""Captured runs as they are posted: an agent, what is next, a check and readings from traces, one void, one orphan."""

from __future__ import annotations

import json
from collections.abc import Iterator
from datetime import timedelta
from math import exp
from typing import Any

from django.test import Client
from django.urls import reverse
from django.utils import timezone
from tests.site.acts import Act, Words

from isohume.foundation.solutions import reference_value
from isohume.outlets.site.bench.models import Lot, Portion, Sample
from isohume.outlets.site.captures.models import Agent, CapturedRun, Expected
from isohume.outlets.site.captures.tokens import digest_of
from isohume.outlets.site.register.models import Bottle, Instrument, MethodVersion, Product

ANALYST, MANAGER = "rhale", "mfarrow"
NAME, SPOOL, TOKEN = "OW-9", "c0ffee00" * 4, "a token that only this test knows"
SOFT_BAR = "Soft oat bar"


class Computer:
    """A bench computer: it numbers what it sends."""

    def __init__(self) -> None:
        self.n = 0
        token = TOKEN.replace(" ", "-")
        Agent.objects.filter(pk=Agent.objects.latest("pk").pk).update(token_sha256=digest_of(token))
        self._client, self._token = Client(), token

    def brings(self, key: str, end: float, number: str = "", *, ends: bool = True) -> CapturedRun:
        """A run that comes to rest; its moments are now, its seconds are its own."""
        about = {"instrument": NAME, "run": key}
        trace = [f"{end + (0.45 - end) * exp(-t / 40):.4f}" for t in range(0, 481, 5)]
        entries: list[dict[str, Any]] = [{"kind": "start", **about, "number": number}]
        warm = {"sample_temperature_c": "25.0", "block_temperature_c": "25.0", "state": "measuring"}
        entries += [
            {"kind": "reading", **about, "elapsed_s": f"{5 * n}.0", "a_w": a_w, **warm} for n, a_w in enumerate(trace)
        ]
        if ends:
            entries.append({"kind": "end", **about, "reason": "end line"})
        self._send(entries)
        return CapturedRun.objects.get(key=key)

    def _send(self, entries: list[dict[str, Any]]) -> None:
        now = timezone.now().isoformat(timespec="milliseconds")
        first = self.n + 1
        for entry in entries:
            self.n += 1
            entry |= {"n": self.n, "at": now}
        body = {"spool": SPOOL, "now": now, "waiting": 0, "entries": entries}
        headers = {"Authorization": f"Bearer {self._token}", "Idempotency-Key": f"{SPOOL}:{first}-{self.n}"}
        answer = self._client.post(reverse("captured_in"), json.dumps(body), "application/json", headers=headers)
        assert answer.status_code == 200, answer.content


def capture_acts(words: Words) -> Iterator[Act]:
    """An instrument of its own, so that nothing else hangs on it."""
    yield Act("agent_registered", "agents", (), MANAGER, {"called": words("Bench room 2", 60)})
    computer = Computer()
    yield from _instrument(words)
    yield from _check(computer, words)
    yield from _cups(words)
    yield from _readings(computer, words)
    yield Act("agent_registered", "agents", (), MANAGER, {"called": words("Old bench computer", 60)})
    old = Agent.objects.latest("pk").pk
    yield Act("agent_revoked", "agent_revoke", (old,), MANAGER, {"reason": words("Computer replaced", 300)})


def _instrument(words: Words) -> Iterator[Act]:
    given = {
        "called": NAME,
        "serial": words("OW9-0001", 60),
        "principle": "dew-point measurement",
        "measures_surface_temperature": "yes",
        "location": words("Bench by the door", 120),
        "warm_up_min": "20",
        "check_limit": "0.006",
        "u_instrument": "0.002",
        "calibration_due": (timezone.localdate() + timedelta(days=99)).isoformat(),
    }
    yield Act("instrument_added", "instrument_new", (), MANAGER, given)
    started = {
        "instrument": NAME,
        "method_version": _method(),
        "room_temperature_c": "21.4",
        "room_rh_percent": "45",
        "warmed_up_since": (timezone.now() - timedelta(hours=2)).isoformat(),
        "block_temperature_c": "25.0",
    }
    yield Act("start_sheet_filled", "start_sheet", (), ANALYST, started)


def _method() -> int:
    return int(MethodVersion.objects.filter(method__products__name=SOFT_BAR).latest("pk").pk)


def _next(of: str, **more: str) -> dict[str, Any]:
    return {"instrument": Instrument.objects.get(name=NAME).scan_code, "of": of, **more}


def _check(computer: Computer, words: Words) -> Iterator[Act]:
    """Two references and a third one, around the bar's limit."""
    bottles = Bottle.objects.filter(opened_at__isnull=False, discarded_at=None, solution_lot__withdrawn_reason="")
    for bottle in bottles.filter(solution_lot__solution__in=("Mg(NO3)2", "NaCl")).order_by("pk"):
        yield Act("run_expected", "live_next", (), ANALYST, _next(bottle.scan_code))
        a_w = float(reference_value(bottle.solution_lot.solution, 25.0).a_w)
        computer.brings(f"check-{bottle.pk}", a_w, f"00{bottle.pk:02d}")
    taken = [run.pk for run in CapturedRun.objects.filter(bottle__isnull=False)]
    given = {"instrument": NAME, "method_version": _method(), "kind": "opening", "runs": taken}
    note = {"note": words("From the traces", 300)}
    yield Act("captured_check_recorded", "captured_check", (), ANALYST, {**given, **note})


def _cups(words: Words) -> Iterator[Act]:
    lot = {"product": Product.objects.get(name=SOFT_BAR).pk, "code": words("SB-live-1", 60)}
    yield Act("lot_received", "lot_new", (), ANALYST, lot)
    sample = {"lot": Lot.objects.latest("pk").code, "position": words("line 2", 120), "sealed": "no", "portions": "4"}
    yield Act("sample_received", "sample_new", (), ANALYST, {**sample, "component": "whole bar", "cover": "lidded"})


def _readings(computer: Computer, words: Words) -> Iterator[Act]:
    """Accepted, void, assigned afterwards, taken back; a reference, an orphan and a run that goes on are left."""
    cups = [cup.scan_code for cup in Portion.objects.filter(sample=Sample.objects.latest("pk")).order_by("pk")]
    yield Act("run_expected", "live_next", (), ANALYST, _next(cups[0], reason=words("late lot", 300)))
    run = computer.brings("cup-1", 0.6310, words("0042", 40)).pk
    accepted = {"reason": words("late lot", 300)}
    yield Act("captured_run_accepted", "capturedrun_act", (run, "accept"), ANALYST, accepted)
    yield Act("run_expected", "live_next", (), ANALYST, _next(cups[1]))
    run = computer.brings("cup-2", 0.6650, "0046").pk
    cause = {"cause": "condensation", "reason": words("Drops on the block", 1000)}
    yield Act("captured_run_voided", "capturedrun_act", (run, "void"), MANAGER, cause)
    run = computer.brings("cup-3", 0.6322, "0047").pk
    known = {"of": cups[2], "reason": words("The cup stood in the chamber", 300)}
    yield Act("captured_run_assigned", "capturedrun_act", (run, "assign"), ANALYST, known)
    yield Act("run_expected", "live_next", (), ANALYST, _next(cups[3]))
    dropped = Expected.objects.latest("pk").pk
    yield Act("run_expected_dropped", "expected_drop", (dropped,), ANALYST)
    bottle = CapturedRun.objects.filter(bottle__isnull=False).latest("pk").bottle
    yield Act("run_expected", "live_next", (), ANALYST, _next(bottle.scan_code))
    computer.brings("reference", 0.7529, "0049")
    orphan = computer.brings("nobody's", 0.7012, "0050")
    gap = {"about": orphan.ref, "day": timezone.localdate(orphan.started_at).isoformat()}
    yield Act("deviation_opened", "accounting_deviation", (), ANALYST, gap)
    computer.brings("goes-on", 0.6200, ends=False)
    yield Act("run_expected", "live_next", (), ANALYST, _next(cups[3]))
