"""The committed page of roles is what the code says, and it leaves no action and no address out."""

from __future__ import annotations

import importlib.util
from pathlib import Path

from django.urls import get_resolver

from isohume.outlets.site.ledger.actions import ACTIONS

ROOT = Path(__file__).parents[3]
spec = importlib.util.spec_from_file_location("roles_page", ROOT / "builders" / "roles_page.py")
assert spec
assert spec.loader
builder = importlib.util.module_from_spec(spec)
spec.loader.exec_module(builder)


def test_the_page_of_roles_is_fresh() -> None:
    assert builder.PAGE.read_text(encoding="utf-8") == builder.roles_page(), "run `make docs`"


def test_every_action_and_every_address_stands_on_it() -> None:
    text = builder.roles_page()
    ours = {name for name, action in ACTIONS.items() if action.__module__.startswith("isohume.")}
    assert len(ours) > 40
    assert [name for name in ours if f"| `{name}` |" not in text] == []
    names = {name for name in get_resolver().reverse_dict if isinstance(name, str)}
    assert [name for name in names if f"| `{name}` |" not in text] == []


def test_cells_say_what_the_action_says() -> None:
    """Two rows by hand: a manager sets a budget and nobody else; nobody but the bench records a run."""
    rows = {row.split("|")[2].strip(): [cell.strip() for cell in row.split("|")[3:-1]] for row in _action_rows()}
    assert rows["`budget_set`"] == ["", "yes", "", "", "", ""]
    assert rows["`run_recorded`"] == ["yes", "yes", "", "", "", ""]


def _action_rows() -> list[str]:
    text = builder.roles_page().split("## Actions")[1].split("## Signatures")[0]
    return [line for line in text.splitlines() if line.startswith("|")][2:]
