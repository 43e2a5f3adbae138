"""`isohume demo FOLDER`: plant A's day as input files, and the main job run on them, each step as a person reads it."""

from __future__ import annotations

from datetime import UTC, datetime
from importlib.resources import files
from pathlib import Path
from typing import Any

from isohume.bench.record.certification import certify
from isohume.bench.record.judge import judge_check_file
from isohume.bench.record.lot_file import read_lot_file
from isohume.bench.record.verification import verify
from isohume.foundation.quantity.errors import InputError
from isohume.outlets.cli import certify as certify_verb
from isohume.outlets.cli import check as check_verb
from isohume.outlets.cli import verify as verify_verb
from isohume.outlets.cli.arguments import Arguments
from isohume.outlets.cli.output import print_json, print_text

EXAMPLE = "isohume demo demo-day"
PLANT = "harrow_lane"


def run(arguments: list[str]) -> int:
    """Write the demonstration day and run it; 0 where the day ran and its records verify."""
    parser = Arguments("demo", "Plant A's day (invented): check, lots, decisions, records, certificates.", EXAMPLE)
    parser.path("folder", help="a new folder, or one of an earlier demonstration")
    given = parser.parse_args(arguments)
    lots = write_day(given.folder)
    say = (lambda _: None) if given.json else print_text
    content = _day(given.folder, lots, say)
    if given.json:
        print_json(content)
    return 0 if content["verify"]["verified"] else 1


def write_day(folder: Path) -> list[Path]:
    """Write the day's input files; an existing file with another content is refused, never overwritten."""
    inputs = folder / "inputs"
    day = {inputs / item.name: item.read_bytes() for item in files("isohume.outlets.demo").joinpath(PLANT).iterdir()}
    for path, text in day.items():
        if path.exists() and path.read_bytes() != text:
            raise InputError(
                "folder", str(path), "a new folder: this file was changed since the demonstration wrote it"
            )
    inputs.mkdir(parents=True, exist_ok=True)
    for path, text in day.items():
        path.write_bytes(text)
    return sorted(path for path in day if path.suffix == ".toml")


def _pdf_of(contents: list[dict[str, Any]], lot: str) -> str:
    return next(str(content["pdf"]) for content in contents if content["lot"] == lot)


def _day(folder: Path, lots: list[Path], say: Any) -> dict[str, Any]:
    now = datetime.now(UTC)
    records = folder / "records"
    say(f"Harrow Lane Oat Works (an invented plant), 15 September 2026. The input files are in {folder / 'inputs'}.\n")
    say("1. The morning check of OW-1: does it tell the truth today?\n")
    check = judge_check_file(read_lot_file(lots[0]).check, now)
    say(check_verb.readable(check, []) + "\n")
    say("2. The lots of the day: read, judged, frozen, printed.\n")
    contents = []
    for lot in lots:
        certified = certify(lot, records, now)
        pdf = certify_verb.print_papers(certified, records, "a4")
        contents.append(certify_verb.as_json(certified, pdf))
        say(certify_verb.readable(certified, pdf) + "\n")
    say(f"{certify_verb.CAUTION}\n")
    say("3. Can the records be proved?\n")
    found = verify(records)
    say(verify_verb.readable(found) + "\n")
    say(f"The certificates are in {records}.")
    say("Next: open one, or change a reading in the inputs and run `isohume certify` again.")
    say(f"\nThe certificate of the first soft bar: {_pdf_of(contents, 'SB-0914-01')}")
    return {"folder": str(folder), "check": check.as_json(), "lots": contents, "verify": verify_verb.as_json(found)}
