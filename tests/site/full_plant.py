"""Plant A with every kind of object in every state: the demonstration, and then every act of `acts` once."""

from __future__ import annotations

import fcntl
import shutil
from pathlib import Path

from tests import served
from tests.served import Plant

FILL = """
from tests.site.full_plant import fill
fill(sys.argv[2])
"""


def full_plant(shared: Path) -> Path:
    """The plant in a data folder that nobody changes; made by whoever comes first.

    shared: a folder that all processes of this test run share.
    """
    demo = served.demo_plant(shared)
    folder = shared / "plant-a-full"
    with (shared / "plant-a-full.lock").open("w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        if not folder.exists():
            being_made = shared / "plant-a-full-being-made"
            shutil.rmtree(being_made, ignore_errors=True)  # who began it failed, and says why
            shutil.copytree(demo, being_made)
            served.in_the_site(being_made, FILL, Plant(being_made).password)
            being_made.rename(folder)
    return folder


def fill(password: str) -> None:
    """Make every act through its page, and do the work that was asked for."""
    from django.conf import settings
    from tests.site.acts import People, every_act

    from isohume.outlets.site.people.models import Site
    from isohume.outlets.site.work.models import Job
    from isohume.outlets.site.work.worker import do_next

    settings.ALLOWED_HOSTS.append("testserver")
    people = People(password)
    for act in every_act(people):
        people.make(act)
    somebody = Site.objects.get().people.earliest("pk")
    Job.objects.create(site=somebody.site, kind="certificate", argument={"record": "R999999"}, created_by=somebody)
    while do_next():
        pass
