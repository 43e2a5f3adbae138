"""The tables of the site: migrations say what the models say."""

from __future__ import annotations

from pathlib import Path

from django.core.management import call_command


def test_no_migration_is_missing(site_db: Path) -> None:
    call_command("makemigrations", check=True, dry_run=True, verbosity=0)
