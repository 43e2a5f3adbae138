"""How often does the hint at a typed value cry wolf, and how often does it catch a slip? On plant A's 90 days.

    python -m proofs.plausibility [--days 90] [--slips 400] [--seed 20261128] [--folder DATA] [--report FILE]

Plant A (invented) is made by the site's own actions, so every run carries the hint it was given when it was typed, by
the history of that day. False hints are hints on values that nobody mistyped. Slips are then made of its right values
and asked of the history at the end: two neighbouring digits swapped, the value of another product, ERH in percent.
"""

from __future__ import annotations

import argparse
import os
import platform
import random
import sys
import tempfile
from collections.abc import Callable
from datetime import UTC, datetime
from decimal import Decimal
from pathlib import Path
from typing import Any

from isohume.version import __version__

REPORT = Path(__file__).parents[1] / "docs" / "proof" / "plausibility.md"
END = datetime(2026, 11, 26, 9, 30, tzinfo=UTC)  # a Thursday: the plant's incident was the day before
FEWER_THAN = 0.01  # hints on right values
FAR = 0.03  # a slip that moves a_w so far would change most decisions
CAUGHT = 0.9  # of slips that move a value so far
TYPED_WRONG = "0.618"  # plant A's own slip: it was read at 0.681


def use(folder: Path, days: int) -> None:
    """Django on the plant in a folder; the plant is made where the folder is empty."""
    os.environ["ISOHUME_DATA"] = str(folder)
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "isohume.outlets.site.config.settings")
    import django

    django.setup()
    if (folder / "isohume.sqlite3").exists():
        return
    from django.core.management import call_command

    from isohume.bench.record.store import open_store
    from isohume.outlets.demo.plant_a import make

    open_store(folder).close()
    call_command("migrate", run_syncdb=True, verbosity=0)
    make(folder, END, days)


def false_hints() -> tuple[int, int, int]:
    """Runs typed right, hints among them, and hints on the plant's own slip."""
    from isohume.outlets.site.bench.models import Run

    runs = Run.objects.filter(corrects=None).values_list("a_w", "plausibility")
    right = [hint for a_w, hint in runs if a_w != TYPED_WRONG]
    slip = [hint for a_w, hint in runs if a_w == TYPED_WRONG]
    return len(right), sum(bool(hint) for hint in right), sum(bool(hint) for hint in slip)


def values() -> list[tuple[str, str]]:
    """Right values with the product they belong to."""
    from isohume.outlets.site.bench.history import named
    from isohume.outlets.site.bench.models import Run

    columns = "portion__sample__lot__product__name", "portion__sample__component", "a_w"
    found = Run.objects.filter(corrects=None, void_reason="").exclude(a_w=TYPED_WRONG).order_by("pk")
    return [(named(product, component), a_w) for product, component, a_w in found.values_list(*columns)]


def swapped(a_w: str, dice: random.Random) -> str:
    """Two neighbouring digits behind the point, exchanged; the same value where they are alike."""
    whole, _, digits = a_w.partition(".")
    place = dice.randrange(len(digits) - 1)
    return f"{whole}.{digits[:place]}{digits[place + 1]}{digits[place]}{digits[place + 2 :]}"


class Slips:
    """Slips of one kind: how many there were, moved far, were told, and were named rightly."""

    def __init__(self, name: str) -> None:
        self.name, self.n, self.far, self.told, self.far_told, self.named = name, 0, 0, 0, 0, 0

    def add(self, far: bool, told: bool, named: bool) -> None:
        """One slip more."""
        self.n += 1
        self.far += far
        self.told += told
        self.far_told += far and told
        self.named += told and named

    @property
    def line(self) -> str:
        """Its row of the table."""
        share = f"{self.far_told / self.far:.3f}" if self.far else "none"
        return f"| {self.name} | {self.n} | {self.told} | {self.far} | {share} | {self.named} |"


def slips(count: int, dice: random.Random) -> list[Slips]:
    """Slips made of right values, each asked as it would be when typed."""
    from isohume.bench.reading.plausible import judge_plausible
    from isohume.outlets.site.bench.history import Known
    from isohume.outlets.site.people.models import Site

    histories, known = Known(Site.objects.get()).histories(), values()
    digits, siblings = Slips("two digits swapped"), Slips("the value of another product")

    def ask(kind: Slips, typed: str, read: str, product: str, right: Callable[[Any], bool]) -> None:
        far = abs(Decimal(typed) - Decimal(read)) >= Decimal(str(FAR))
        found = judge_plausible(typed, product, histories)
        kind.add(far, found.words == "not plausible", right(found))

    while digits.n < count:
        product, a_w = dice.choice(known)
        typed = swapped(a_w, dice)
        if typed != a_w and Decimal(typed) > 0:
            ask(digits, typed, a_w, product, lambda found, meant=a_w: Decimal(meant) in found.would_fit)
    while siblings.n < count:
        (product, read), (other, a_w) = dice.choice(known), dice.choice(known)
        if product != other:
            ask(siblings, a_w, read, product, lambda found, meant=other: meant in found.fits)
    return [digits, siblings]


def percents(count: int, dice: random.Random) -> int:
    """How many of so many values typed as ERH in percent the field refuses with the question."""
    from isohume.foundation.quantity.errors import InputError
    from isohume.outlets.site.bench.masks import a_w_typed

    asked, known = 0, values()
    for _ in range(count):
        _, a_w = dice.choice(known)
        try:
            a_w_typed(f"{Decimal(a_w) * 100:f}")
        except InputError as error:
            asked += "was ERH in percent meant" in error.allowed
    return asked


def page(days: int, count: int, seed: int) -> tuple[str, bool]:
    """The page, and whether it holds."""
    dice = random.Random(seed)
    right, hinted, own_slip = false_hints()
    made, asked = slips(count, dice), percents(count, dice)
    quiet, caught = hinted < FEWER_THAN * right, all(one.far_told >= CAUGHT * one.far for one in made)
    lines = [
        "# Does the hint at a typed value cry wolf?",
        "",
        f"{datetime.now(UTC):%Y-%m-%d}, isohume {__version__}, Python {platform.python_version()}; "
        f"`python -m proofs.plausibility --days {days} --slips {count} --seed {seed}`.",
        "",
        f"Plant A (invented), {days} days by the site's own actions; each run was given its hint when it was typed.",
        "",
        f"- Runs typed right: {right}; hints on them: {hinted} ({100 * hinted / right:.2f} %). "
        f"Fewer than {100 * FEWER_THAN:g} %: {'yes' if quiet else 'NO'}.",
        f"- The plant's own slip, 0.618 typed for 0.681: {'not told when typed' if not own_slip else 'told'}.",
        f"- {count} values typed as ERH in percent (65.2): the field asks the question for {asked}.",
        "",
        f"| slip | made | told | move a_w by {FAR:g} or more | of these told | named rightly |",
        "|---|---:|---:|---:|---:|---:|",
        *(one.line for one in made),
        "",
        f"Of slips that move a_w by {FAR:g} or more, {100 * CAUGHT:g} % or more are told: {'yes' if caught else 'NO'}. "
        "A slip within what the product scatters cannot be told by its history: the second keying catches it.",
    ]
    return "\n".join(lines) + "\n", quiet and caught and asked == count


def main(arguments: list[str] | None = None) -> int:
    """Makes the plant, writes the page, and says whether it holds."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--days", type=int, default=90)
    parser.add_argument("--slips", type=int, default=400)
    parser.add_argument("--seed", type=int, default=20261128)
    parser.add_argument("--folder", type=Path, default=None)
    parser.add_argument("--report", type=Path, default=REPORT)
    chosen = parser.parse_args([] if arguments is None else arguments)
    with tempfile.TemporaryDirectory(prefix="isohume-plausible-") as made:
        use(chosen.folder or Path(made), chosen.days)
        text, held = page(chosen.days, chosen.slips, chosen.seed)
    chosen.report.write_text(text, encoding="utf-8")
    print(text)
    return 0 if held else 1


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
