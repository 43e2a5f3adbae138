"""Writes docs/reference/roles.md: every action with the roles that may do it, every page with the roles that see it.

`python builders/roles_page.py` writes; tests/outlets/site/test_roles_page.py compares what is committed with what this
would write. Whoever calls `roles_page` set Django up first; as a script it does so over a folder that it throws away.
"""

from __future__ import annotations

import importlib
import os
import pkgutil
import re
import tempfile
from collections.abc import Collection, Iterable, Iterator
from pathlib import Path

PAGE = Path(__file__).parents[1] / "docs" / "reference" / "roles.md"
MADE = "<!-- Made by builders/roles_page.py from the actions and pages of the site; edit those instead. -->"
HEAD = """# Who may do what on the site

A person may hold several roles. Everybody may look; what changes something is an action, and an action refuses whoever
has no role for it, with the reason. Beyond the role an action has rules of its own (competence, a second person, the
state of the lot): a role in this table opens the door, it does not promise that the act is allowed now."""
SIGNATURES = """Signing is one action, `records_signed`; which meaning a role may give:"""
PAGES = """What a page shows is one thing, what its forms do another: a form performs an action of the table above."""

Row = tuple[str, str, Collection[str]]


def roles_page() -> str:
    """The page's content; Django is set up already."""
    roles = importlib.import_module("isohume.outlets.site.people.roles")
    signs = importlib.import_module("isohume.outlets.site.lots.signing_rules").SIGNS
    columns = [role.value for role in roles.Role]
    meanings = [(meaning, "", [role.value for role in may]) for meaning, may in signs.items()]
    parts = [MADE, HEAD, "## Actions", _matrix("what the trail says", "stored name", columns, _actions())]
    parts += ["## Signatures", SIGNATURES, _matrix("meaning", "", columns, meanings)]
    pages = [f"| `{address}` | `{name}` | {_who(may, columns)} |" for address, name, may in _pages()]
    parts += ["## Pages", PAGES, "\n".join(["| address | name | who sees it |", "|---|---|---|", *pages])]
    return "\n\n".join(parts) + "\n"


def _matrix(first: str, second: str, columns: list[str], rows: Iterable[Row]) -> str:
    heads = [head for head in (first, second) if head] + columns
    lines = [f"| {' | '.join(heads)} |", "|" + "---|" * len(heads)]
    for said, name, may in rows:
        cells = [said, *([f"`{name}`"] if second else []), *("yes" if role in may else "" for role in columns)]
        lines.append(f"| {' | '.join(cells)} |")
    return "\n".join(lines)


def _who(may: Collection[str], columns: list[str]) -> str:
    if may == "anybody":
        return "anybody, signed in or not"
    return "everybody who is signed in" if set(columns) == set(may) else ", ".join(r for r in columns if r in may)


def _actions() -> Iterator[Row]:
    """Every action of every app, in the order of their stored names."""
    site = importlib.import_module("isohume.outlets.site")
    for module in pkgutil.walk_packages(site.__path__, f"{site.__name__}."):
        if ".actions" in module.name:
            importlib.import_module(module.name)
    for name, action in sorted(importlib.import_module("isohume.outlets.site.ledger.actions").ACTIONS.items()):
        if action.__module__.startswith("isohume."):  # tests have actions of their own
            yield action.said, name, [role.value for role in action.roles]


def _pages() -> Iterator[Row]:
    """Every address of the site, app by app."""
    urls = importlib.import_module("isohume.outlets.site.config.urls")
    for app in urls.urlpatterns:
        for found in app.url_patterns:
            address = re.sub(r"\(\?P<(\w+)>[^)]*\)|<(?:\w+:)?(\w+)>", r"<\1\2>", str(found.pattern))
            may = found.callback.roles
            yield "/" + address.strip("^$").replace("\\", ""), found.name, may if may == "anybody" else list(may)


if __name__ == "__main__":
    with tempfile.TemporaryDirectory(prefix="isohume-roles-") as folder:
        os.environ["ISOHUME_DATA"] = folder
        os.environ["DJANGO_SETTINGS_MODULE"] = "isohume.outlets.site.config.settings"
        importlib.import_module("django").setup()
        PAGE.write_text(roles_page(), encoding="utf-8")
