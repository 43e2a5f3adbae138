"""`isohume verify FOLDER|BAG`: can the record be proved?"""

from __future__ import annotations

from isohume.bench.record.verification import Verification, verify
from isohume.outlets.cli.arguments import Arguments
from isohume.outlets.cli.output import facts, print_json, print_text

EXAMPLE = "isohume verify demo-day/records"


def run(arguments: list[str]) -> int:
    """Verify a folder's ledger and records; 0 where all is as it was frozen."""
    parser = Arguments("verify", "Recompute every digest of a folder's ledger and records.", EXAMPLE)
    parser.path("folder", help="folder of the ledger, or a bag that holds one")
    given = parser.parse_args(arguments)
    found = verify(given.folder)
    if given.json:
        print_json(as_json(found))
    else:
        print_text(readable(found))
    return 0 if found.verified else 1


def as_json(found: Verification) -> dict[str, object]:
    """The keys of the command line's contract."""
    bad = found.first_bad
    return {
        "entries": found.entries,
        "records": found.records,
        "verified": found.verified,
        "first_bad": None if bad is None else {"kind": bad.kind, "id": bad.id, "reason": bad.reason},
    }


def readable(found: Verification) -> str:
    """Verified or not first, then what was read."""
    rows = [("verified", "yes" if found.verified else "no")]
    if found.first_bad is not None:
        bad = found.first_bad
        rows.append(("first bad", f"{bad.kind} {bad.id}: {bad.reason}"))
    rows += [("ledger entries", str(found.entries)), ("records", str(found.records))]
    rows += [(name, str(count)) for name, count in (("signatures", found.signatures), ("files", found.files)) if count]
    return facts(rows)
