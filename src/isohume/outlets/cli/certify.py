"""`isohume certify LOT.toml --data FOLDER`: a lot from files to a verifiable certificate."""

from __future__ import annotations

import sys
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from isohume.bench.record.certification import Certified, certify
from isohume.outlets.cli.arguments import Arguments
from isohume.outlets.cli.output import facts, print_json, reasons
from isohume.outlets.paper import write_certificate, write_readings

EXAMPLE = "isohume certify soft-bar.toml --data records"


def run(arguments: list[str]) -> int:
    """Certify one lot or several; 0 only where every lot is released."""
    parser = Arguments("certify", "Check, replicates, decision, record and certificate of a lot.", EXAMPLE)
    parser.add_argument("lots", type=Path, nargs="+", metavar="LOT.toml", help="lot descriptions")
    parser.add_argument("--data", type=Path, required=True, metavar="FOLDER", help="folder of the ledger and the PDFs")
    parser.add_argument("--paper", choices=("a4", "us-letter"), default="a4", help="paper size (default a4)")
    given = parser.parse_args(arguments)
    done = []
    for number, lot in enumerate(given.lots, 1):
        certified = certify(lot, given.data, datetime.now(UTC))
        done.append((certified, print_papers(certified, given.data, given.paper)))
        _progress(number, len(given.lots))
    contents = [as_json(certified, pdf) for certified, pdf in done]
    if given.json:
        print_json(contents[0] if len(contents) == 1 else {"lots": contents})
    else:
        print("\n\n".join(readable(certified, pdf) for certified, pdf in done))
    return 0 if all(content["disposition"] == "release" for content in contents) else 1


def print_papers(certified: Certified, folder: Path, paper: str) -> Path:
    """The certificate and its readings as CSV, beside the ledger; returns the certificate's place."""
    write_readings(certified.record, folder)
    return write_certificate(certified.record, certified.digest, folder, paper)


def _progress(number: int, count: int) -> None:
    if count > 1:
        end = "\n" if number == count else "\r"
        print(f"{number} of {count} lots", end=end, file=sys.stderr, flush=True)


def as_json(certified: Certified, pdf: Path) -> dict[str, Any]:
    """The keys of the command line's contract, with the reasons."""
    decision = certified.record["decision"]
    return {
        "lot": certified.record["lot"]["id"],
        "record": certified.record["id"],
        "verdict": decision["verdict"],
        "disposition": decision["disposition"],
        "digest": certified.digest,
        "pdf": str(pdf),
        "reasons": decision["reasons"],
        "notes": certified.record["notes"],
        "already_frozen": certified.already_frozen,
    }


def readable(certified: Certified, pdf: Path) -> str:
    """What was decided, why, and where the proof is."""
    record, decision = certified.record, certified.record["decision"]
    rows = [
        ("lot", f"{record['lot']['id']}  {record['product']['name']}"),
        ("verdict", decision["verdict"]),
        ("disposition", decision["disposition"]),
    ]
    if decision["probability_of_conformity"] is not None:
        rows.append(("probability of conformity", f"{100 * decision['probability_of_conformity']:.2f} %"))
    again = " (frozen before; the same inputs make the same record)" if certified.already_frozen else ""
    rows += [("record", record["id"] + again), ("digest", certified.digest), ("certificate", str(pdf))]
    return "\n".join((facts(rows), reasons(decision["reasons"] + record["notes"])))
