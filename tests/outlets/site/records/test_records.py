"""Records: found, told in time order, proved or not, taken along, printed, and reached by an inspector."""

from __future__ import annotations

import json
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from hashlib import sha256
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.urls import reverse
from tests.outlets.site.lots.bench_day import (
    NOW,
    OFF,
    OPENED,
    Bench,
    judge,
    key_again,
    make_bench,
    make_check,
    make_lot,
    proof_of,
)

from isohume.bench.record.tables import OBJECTS
from isohume.outlets.site.bench.models import Lot
from isohume.outlets.site.ledger.actions import ACTIONS, By, Refused, perform
from isohume.outlets.site.ledger.trail import trail_of
from isohume.outlets.site.lots.actions.close_deviation import CloseDeviation
from isohume.outlets.site.lots.actions.hold_lot import HoldLot
from isohume.outlets.site.lots.actions.open_deviation import OpenDeviation
from isohume.outlets.site.lots.actions.sign_records import SignRecords
from isohume.outlets.site.lots.frozen import questions
from isohume.outlets.site.lots.models import LotRecord
from isohume.outlets.site.people.models import Person
from isohume.outlets.site.records.actions.ask_certificate import AskCertificate, reasons_against_certificate
from isohume.outlets.site.records.certificates import certificate_file
from isohume.outlets.site.records.queries import inspector_path
from isohume.outlets.site.register.models import BalanceRecord, SolutionLot
from isohume.outlets.site.work.models import Job
from isohume.outlets.site.work.worker import do_next


@pytest.fixture
def bench(site_db: Path) -> Bench:
    """A bench whose people accepted the policy of signatures."""
    made = make_bench()
    Person.objects.update(policy_accepted_at=NOW)
    return made


@pytest.fixture
def record(bench: Bench) -> LotRecord:
    """A judged lot, keyed twice."""
    lot = make_lot(bench, "SB-1", "0.6315", "0.6331")
    key_again(bench, lot)
    return judge(bench, lot)


@pytest.fixture
def reader(bench: Bench, client: Client) -> Client:
    """The auditor at the browser."""
    client.force_login(bench.auditor, "django.contrib.auth.backends.ModelBackend")
    return client


@pytest.fixture
def tampered(site_db: Path) -> Callable[..., None]:
    """A way round the guards of the evidence, as somebody with the file would go."""

    def change(trigger: str, statement: str, *values: object) -> None:
        with connection.cursor() as cursor:
            cursor.execute(f"DROP TRIGGER {trigger}")
            cursor.execute(statement, values)
            cursor.execute(OBJECTS[trigger])

    return change


def sign(bench: Bench, person: Person, meaning: str, record: LotRecord, at: datetime = NOW) -> None:
    """Sign now."""
    perform(SignRecords(bench.site, [record], meaning, proof_of(person, at)), By(person, at))


def release(bench: Bench, record: LotRecord) -> LotRecord:
    """Review and release it."""
    sign(bench, bench.manager, "reviewed", record)
    sign(bench, bench.officer, "released", record)
    return record


def text_of(client: Client, name: str, *args: Any, **asked: str) -> str:
    """A page's text."""
    response = client.get(reverse(name, args=args), asked)
    assert response.status_code == 200
    return str(response.content.decode())


def test_records_are_found_by_id_lot_and_digest(bench: Bench, record: LotRecord, reader: Client) -> None:
    judge(bench, make_lot(bench, "OB-2", "0.6415"))
    assert {"R000001", "R000002"} <= set(text_of(reader, "records").replace("<", ">").split(">"))
    for text in ("r000001", "sb-1", record.digest):
        page = text_of(reader, "records", text=text)
        assert "SB-1" in page
        assert "OB-2" not in page
    assert "No record is like that" in text_of(reader, "records", text="nothing of the kind")


def test_the_story_is_told_in_time_order_and_proved(bench: Bench, record: LotRecord, reader: Client) -> None:
    sign(bench, bench.manager, "reviewed", record)
    page = text_of(reader, "record", record.record)
    assert "Verified: nothing was altered" in page
    assert record.digest in page.replace("<wbr>", "")
    assert page.index("Froze a record") < page.index("Judged a lot") < page.index("Signed records")
    assert "1 signature, 3 input files, 4 ledger lines of its story" in page


def test_a_changed_old_value_is_told_with_both_values(bench: Bench, record: LotRecord, reader: Client) -> None:
    perform(HoldLot(record.lot, "a customer called"), By(bench.manager, NOW))
    page = text_of(reader, "record", record.record)
    assert "state: judged → on hold" in page
    assert "a customer called" in page


def test_other_lots_under_the_same_check_are_not_this_story(bench: Bench, record: LotRecord, reader: Client) -> None:
    judge(bench, make_lot(bench, "OB-2", "0.6415"))
    assert "R000002" not in text_of(reader, "record", record.record)


@pytest.mark.parametrize("what", ["record", "signature", "line", "file"])
def test_what_was_altered_is_seen_and_named(
    bench: Bench, record: LotRecord, reader: Client, tampered: Any, what: str
) -> None:
    sign(bench, bench.manager, "reviewed", record)
    if what == "record":
        body = b'{"altered":true}'
        tampered("record_refuses_update", "UPDATE record SET body = %s WHERE id = 'R000001'", body)
        said = "is not what was frozen"
    elif what == "signature":
        tampered("signature_refuses_update", "UPDATE signature SET person = 'analyst'")
        said = "is not what was signed"
    elif what == "line":
        tampered(
            "ledger_refuses_update", "UPDATE ledger SET at = '2026-01-01T00:00:00+00:00' WHERE kind = 'lot_judged'"
        )
        said = "is not what was written"
    else:
        tampered("file_refuses_update", "UPDATE file SET body = %s WHERE name = 'readings.csv'", b"run,a_w\n")
        said = "is not what was kept"
    page = text_of(reader, "record", record.record)
    assert "Not verified" in page
    assert said in page


def test_the_whole_evidence_is_verified_on_a_page(
    bench: Bench, record: LotRecord, reader: Client, tampered: Any
) -> None:
    assert "Not asked yet" in text_of(reader, "verify")
    page = reader.post(reverse("verify")).content.decode()
    assert "1 records recomputed" in page
    tampered("record_refuses_update", "UPDATE record SET body = %s WHERE id = 'R000001'", b"{}")
    page = reader.post(reverse("verify")).content.decode()
    assert "Not verified" in page
    assert "record R000001" in page


def test_record_inputs_and_readings_are_taken_along(bench: Bench, record: LotRecord, reader: Client) -> None:
    body = reader.get(reverse("record_export", args=[record.record, "json"]))
    assert sha256(body.content).hexdigest() == record.digest, "byte for byte"
    assert body.headers["Content-Disposition"] == 'attachment; filename="R000001.json"'
    readings = reader.get(reverse("record_export", args=[record.record, "readings"])).content.decode()
    assert readings.splitlines()[0].startswith("record,lot,row,run")
    for number, file in enumerate(json.loads(body.content)["inputs"]):
        given = reader.get(reverse("record_export", args=[record.record, number]))
        assert sha256(given.content).hexdigest() == file["sha256"]
        assert given.headers["Content-Disposition"] == f'attachment; filename="R000001-{file["name"]}"'
    assert reader.get(reverse("record_export", args=[record.record, 9])).status_code == 404


@pytest.mark.parametrize("path", ["../../etc/passwd", "R000001/../R000002", "..%2f..%2fetc", "R1", "secret.key"])
def test_no_path_leads_out_of_the_records(record: LotRecord, reader: Client, path: str) -> None:
    for address in (f"/records/{path}/", f"/records/{path}.pdf", f"/records/{path}/certificate/"):
        assert reader.get(address).status_code == 404
    assert reader.get(f"/records/R000001/export/{path}/").status_code == 404


def test_another_plant_s_record_is_not_found(bench: Bench, record: LotRecord, client: Client) -> None:
    other = make_bench("other-plant")
    client.force_login(other.officer, "django.contrib.auth.backends.ModelBackend")
    assert "SB-1" not in text_of(client, "records")
    for name in ("record", "certificate", "certificate_pdf"):
        assert client.get(reverse(name, args=[record.record])).status_code == 404
    assert client.get(reverse("record_export", args=[record.record, "json"])).status_code == 404
    assert client.post(reverse("certificate", args=[record.record])).status_code == 404


def made(reader: Client, record: LotRecord) -> Job:
    """Ask on the page, and let the worker work."""
    response = reader.post(reverse("certificate", args=[record.record]), {"paper": "a4"})
    job = Job.objects.order_by("pk").last()
    assert response.url == reverse("job", args=[job.pk])
    assert do_next()
    job.refresh_from_db()
    assert (job.state, job.message) == ("done", "")
    return job


def test_a_certificate_is_asked_made_and_served_until_a_signature_comes(bench: Bench, reader: Client) -> None:
    lot = make_lot(bench, "SB-9", "0.6715", "0.6721")
    key_again(bench, lot)
    record = judge(bench, lot)
    assert "not made yet" in text_of(reader, "certificate", record.record)
    assert reader.get(reverse("certificate_pdf", args=[record.record])).status_code == 302
    job = made(reader, record)
    assert trail_of(record.ref)[-1].kind == "certificate_asked"
    page = reader.get(reverse("certificate_pdf", args=[record.record]))
    assert page.headers["Content-Type"] == "application/pdf"
    assert page.headers["Content-Disposition"] == 'inline; filename="R000001.pdf"'
    assert b"".join(page.streaming_content).startswith(b"%PDF-")
    assert "certificate is ready" in text_of(reader, "certificate", record.record)
    sign(bench, bench.manager, "reviewed", record, datetime.now(UTC) + timedelta(seconds=2))
    assert certificate_file(record) is None, "it would say that nobody signed"
    assert job.result.endswith("R000001.pdf")


def test_a_certificate_made_in_the_second_of_its_signature_is_served(
    bench: Bench, record: LotRecord, reader: Client
) -> None:
    release(bench, record)
    job = made(reader, record)
    moment = max(datetime.fromisoformat(s.at) for s in questions().signatures_of(record.record))
    Job.objects.filter(pk=job.pk).update(started_at=moment)
    assert len(job.argument["signatures"]) == 2
    assert certificate_file(record) is not None


def test_no_certificate_of_a_held_or_superseded_record_leaves(bench: Bench, record: LotRecord, reader: Client) -> None:
    release(bench, record)
    made(reader, record)
    deviation = perform(HoldLot(record.lot, "a customer called"), By(bench.manager, NOW))
    assert deviation.lot == record.lot
    assert certificate_file(record) is None
    refused = reader.post(reverse("certificate", args=[record.record]))
    assert refused.status_code == 422
    assert "would say too much" in refused.content.decode()
    make_check(bench.instrument, bench.method, bench.analyst, OPENED + timedelta(minutes=90), "closing")
    judge(bench, record.lot, "closing check added")
    with pytest.raises(Refused, match="superseded by R000002"):
        perform(AskCertificate(record), By(bench.auditor, NOW))
    assert Job.objects.count() == 1


def test_a_certificate_of_a_failed_lot_says_so(bench: Bench, reader: Client) -> None:
    record = judge(bench, make_lot(bench, "SB-9", "0.6715", "0.6721"))
    made(reader, record)
    assert certificate_file(record) is not None


def test_paper_sizes_are_two(bench: Bench, record: LotRecord, reader: Client) -> None:
    release(bench, record)
    refused = reader.post(reverse("certificate", args=[record.record]), {"paper": "parchment"})
    assert refused.status_code == 422
    assert "a4 or us-letter" in refused.content.decode()
    assert "certificate_asked" in ACTIONS


def test_an_inspector_comes_to_the_balance_in_four_pages(bench: Bench, record: LotRecord, reader: Client) -> None:
    solution = SolutionLot.objects.order_by("pk").first()
    BalanceRecord.objects.create(
        solution_lot=solution,
        balance="BA-1",
        salt_g="180.02",
        water_g="100.01",
        check_nominal_g="100.000",
        check_read_g="100.001",
        check_limit_g="0.005",
        check_passed=True,
        weighed_at=NOW,
        weighed_by=bench.analyst,
    )
    path = inspector_path(record.lot)
    assert [words.split()[0] for words, _ in path] == ["Lot", "Check", str(solution).split()[0], "Balance"]
    for (_, here), (_, following) in pairwise(path):
        page = reader.get(here.partition("#")[0]).content.decode()
        assert following.partition("#")[0] in page, f"{here} leads to {following}"
    assert "180.02" in reader.get(path[-1][1].partition("#")[0]).content.decode()


def test_an_unjudged_lot_leads_an_inspector_nowhere_else(bench: Bench) -> None:
    assert len(inspector_path(make_lot(bench, "SB-5"))) == 1
    assert Lot.objects.count() == 1


def test_a_record_that_says_release_prints_only_when_the_lot_is_released_on_it(
    bench: Bench, record: LotRecord, reader: Client
) -> None:
    said = text_of(reader, "certificate", record.record)
    assert "Lot SB-1 is judged: a certificate that says release would say too much" in said
    sign(bench, bench.manager, "reviewed", record)
    with pytest.raises(Refused, match="is judged"):
        perform(AskCertificate(record), By(bench.officer, NOW))
    Lot.objects.update(state="released")  # whatever a state says, the signature on this record decides
    assert "not the one that lot SB-1 was released on" in reasons_against_certificate(record)[0]
    Lot.objects.update(state="judged")
    sign(bench, bench.officer, "released", record)
    assert reasons_against_certificate(record) == []
    made(reader, record)
    assert certificate_file(record) is not None


def test_a_release_taken_back_has_no_paper_again_until_another_record_is_released(
    bench: Bench, record: LotRecord, reader: Client
) -> None:
    release(bench, record)
    made(reader, record)
    held = perform(HoldLot(record.lot, "a customer called"), By(bench.analyst, NOW))
    perform(CloseDeviation(held, "wrong pallet", "found", "", proof_of(bench.manager)), By(bench.manager, NOW))
    assert "was released, and the lot was held since" in " ".join(reasons_against_certificate(record))
    assert certificate_file(record) is None
    second = release(bench, judge(bench, Lot.objects.get(), "complaint settled"))
    assert reasons_against_certificate(second) == []
    assert "superseded by R000002" in " ".join(reasons_against_certificate(record))


def test_a_check_that_fails_after_a_release_stops_its_paper(bench: Bench, record: LotRecord) -> None:
    release(bench, record)
    failed = make_check(bench.instrument, bench.method, bench.analyst, OPENED + timedelta(minutes=90), "closing", OFF)
    opened = OpenDeviation(bench.site, "failed check", "0.7735 read", failed_check=failed)
    deviation = perform(opened, By(bench.analyst, NOW))
    said = " ".join(reasons_against_certificate(record))
    assert f"Check {failed.pk} of OW-1 failed, and nothing protects a reading of lot SB-1 since" in said
    assert f"Check {failed.pk} of OW-1 failed, and record R000001 does not know it" in said
    deviation.closed_at = NOW
    deviation.save()
    said = " ".join(reasons_against_certificate(record))
    assert "does not know it" in said, "the record still says pass"
    assert "nothing protects a reading of lot SB-1" in said, "a closed deviation protects no reading"


def test_a_check_that_fails_after_a_good_one_leaves_earlier_lots_their_paper(bench: Bench, record: LotRecord) -> None:
    make_check(bench.instrument, bench.method, bench.analyst, OPENED + timedelta(minutes=60), "closing")
    release(bench, record)
    failed = make_check(bench.instrument, bench.method, bench.analyst, OPENED + timedelta(minutes=90), "closing", OFF)
    opened = OpenDeviation(bench.site, "failed check", "0.7735 read", failed_check=failed)
    perform(opened, By(bench.analyst, NOW))
    assert reasons_against_certificate(record) == []


@pytest.mark.parametrize("before", ["9" * 5000, "99999999999999999999", "\u0663", "-1"])
def test_a_list_that_goes_on_from_nowhere_starts_at_the_top(record: LotRecord, reader: Client, before: str) -> None:
    assert "R000001" in text_of(reader, "records", before=before)
