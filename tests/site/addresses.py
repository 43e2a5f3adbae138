"""An example address of every route, from the objects of the full plant; a route without one fails a test."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

from django.urls import reverse

Ask = Callable[[str], list[tuple[Any, ...]]]
FIRST = "SELECT min(id) FROM"
LAST = "SELECT max(id) FROM"
MANY = {  # one object in each of its states
    "person": (f"{FIRST} people_person WHERE roles LIKE '%analyst%'", f"{LAST} people_person"),
    "instrument": (f"{FIRST} register_instrument", f"{LAST} register_instrument"),
    "method": ("SELECT id FROM register_method",),
    "methodversion": ("SELECT id FROM register_methodversion",),
    "solutionlot": (f"{FIRST} register_solutionlot", f"{LAST} register_solutionlot"),
    "bottle": (f"{FIRST} register_bottle", "SELECT id FROM register_bottle ORDER BY id DESC LIMIT 2"),
    "product": (f"{FIRST} register_product", f"{LAST} register_product"),
    "specificationversion": (f"{FIRST} register_specificationversion", f"{LAST} register_specificationversion"),
    "lot": ("SELECT max(id) FROM bench_lot GROUP BY state",),
    "sample": (f"{FIRST} bench_sample", f"{LAST} bench_sample"),
    "portion": (f"{FIRST} bench_portion", "SELECT max(id) FROM bench_portion GROUP BY done, discarded_reason = ''"),
    "run": (
        "SELECT max(id) FROM bench_run GROUP BY void_reason = '', corrects_id IS NULL, imported_id IS NULL",
        "SELECT corrects_id FROM bench_run WHERE corrects_id IS NOT NULL",
        "SELECT run_id FROM bench_secondkeying WHERE NOT agrees",
    ),
    "importedfile": (f"{LAST} bench_importedfile",),
    "inprocessreading": (f"{LAST} bench_inprocessreading",),
    "check": ("SELECT max(id) FROM checks_check GROUP BY kind, passed, voided_at IS NULL",),
    "deviation": ("SELECT max(id) FROM lots_deviation GROUP BY kind, closed_at IS NULL",),
    "record": (
        "SELECT max(record) FROM lots_lotrecord GROUP BY verdict",
        "SELECT max(record) FROM signature WHERE meaning = 'released'",
    ),
    "certificate": (
        "SELECT max(json_extract(argument, '$.record')) FROM work_job WHERE kind = 'certificate' AND state = 'done'",
        "SELECT max(record) FROM signature WHERE meaning = 'rejected'",
    ),
    "study": ("SELECT max(id) FROM studies_study", "SELECT min(id) FROM studies_study"),
    "isotherm": ("SELECT max(id) FROM studies_isotherm",),
    "job": ("SELECT max(id) FROM work_job GROUP BY kind, state",),
}
PLAIN = (  # pages with nothing in their address
    "today", "checks", "check_new", "shift", "lots", "records", "register", "lock", "password", "people", "due",
    "instruments", "instrument_new", "methods", "method_new", "solutions", "solution_new", "products", "product_new",
    "lot_new", "sample_new", "tempering", "second_keying", "import_runs", "labels", "in_process", "hand_over_new",
    "start_sheet", "cleaning_new", "sign", "deviations", "verify", "studies", "study_new",
)  # fmt: skip
ACTS = {  # a change with a page of its own: whose object, and what is done to it
    "instrument_act": ("instrument", ("change", "withdraw", "return")),
    "method_act": ("method", ("version",)),
    "methodversion_act": ("methodversion", ("budget",)),
    "solutionlot_act": ("solutionlot", ("bottle", "weighing", "withdraw")),
    "bottle_act": ("bottle", ("open", "discard")),
    "product_act": ("product", ("specification",)),
}
BENCH = (  # the pages of a shift; the others are the office's
    "today", "checks", "check", "check_new", "shift", "tempering", "second_keying", "start_sheet", "cleaning_new",
    "lot_new", "sample_new", "sample", "portion", "run", "import_runs", "importedfile", "labels", "in_process",
    "inprocessreading", "hand_over_new", "lots", "lot", "moisture_new", "ph_new",
)  # fmt: skip
OFFICE = tuple(sorted({*PLAIN, *MANY, *ACTS, "study_keep", "trail"} - {*BENCH}))
OUTSIDE = ("sign_in", "set_up")  # seen by somebody who is not signed in
POSTED = {  # a change without a page of its own: the page that holds its form
    "sign_out": "today",
    "person_act": "person",
    "portion_act": "portion",
    "tempering_row": "tempering",
    "run_act": "run",
    "second_keying_row": "second_keying",
    "check_void": "check",
    "lot_act": "lot",
    "deviation_act": "deviation",
    "study_fit": "study",
}
PARTS = ("check_expected", "shift_row")  # pieces of a page that the page itself asks for
FILES = ("record_export", "certificate_pdf", "job_result", "study_sheet", "study_file")
LEADS = ("scan",)  # leads to another page
ASKED = {  # the same page, asked otherwise
    "check_new": ("instrument=OW-1", "instrument=OW-2"),
    "shift": ("instrument=1&block_temperature_c=25.0", "scan=iso:p:1"),
    "lots": ("state=on hold", "text=no such lot"),
    "records": ("text=SB-", "text=no such record"),
    "sign": ("meaning=released", "meaning=rejected", "meaning=approved&tick=all"),
    "deviations": ("all=1",),
    "labels": ("bench=1", "sample=1"),
    "start_sheet": ("sheet=1",),
    "studies": ("text=no such product",),
}
TRAILS = {
    "budget": "register_budget",
    "balancerecord": "register_balancerecord",
    "startsheet": "checks_startsheet",
    "cleaning": "checks_cleaning",
    "secondkeying": "bench_secondkeying",
    "columnmapping": "bench_columnmapping",
    "handover": "bench_handover",
    "moisturedetermination": "lots_moisturedetermination",
    "phdetermination": "lots_phdetermination",
}


def keys(ask: Ask, name: str) -> list[Any]:
    """The objects of a route, the first one first."""
    found = [row[0] for question in MANY[name] for row in ask(question)]
    assert found, f"the full plant has no {name}"
    assert None not in found, f"the full plant lacks a state of {name}: {found}"
    return list(dict.fromkeys(found))


def pages(ask: Ask) -> dict[str, list[str]]:
    """Every page that somebody signed in looks at: its route, and addresses of it."""
    found = {name: [reverse(name)] for name in PLAIN}
    for name in MANY:
        found[name] = [reverse(name, args=[key]) for key in keys(ask, name)]
    for name, (whose, acts) in ACTS.items():
        found[name] = [reverse(name, args=[key, act]) for key in keys(ask, whose)[-1:] for act in acts]
    for name in ("moisture_new", "ph_new"):
        found[name] = [reverse(name, args=[ask(f"{LAST} bench_lot")[0][0]])]
    found["study_keep"] = [reverse("study_keep", args=[key]) for key in keys(ask, "study")]
    fitted = reverse("study", args=[keys(ask, "study")[-1]])
    found["study"] += [f"{fitted}?a_w_limit=0.99", f"{fitted}?ask_a_w=0.5&ask_moisture=8.1", f"{fitted}?ask_a_w=0.99"]
    found["isotherm"] += [f"{found['isotherm'][0]}?ask_a_w=0.5&ask_formula=other"]
    found["trail"] = [_trail(ask, kind, f"{LAST} {table}") for kind, table in TRAILS.items()]
    found["trail"] += [
        _trail(ask, kind, MANY[kind][-1]) for kind in MANY if kind not in ("record", "certificate", "job")
    ]
    for name, questions in ASKED.items():
        found[name] += [f"{reverse(name)}?{question}" for question in questions]
    return found


def _trail(ask: Ask, kind: str, question: str) -> str:
    return reverse("trail", args=[kind, ask(question)[0][0]])


def parts(ask: Ask) -> dict[str, list[str]]:
    """Pieces of pages."""
    waits = ask("SELECT min(id) FROM bench_portion WHERE NOT done")[0][0]
    asked = f"{reverse('check_expected')}?row=1&bottle_1=iso:b:1&temperature_c_1=25.0"
    return {"check_expected": [asked], "shift_row": [reverse("shift_row", args=[waits])]}


def files(ask: Ask) -> dict[str, list[tuple[str, str]]]:
    """Files with the media type they come as."""
    record, signed = keys(ask, "record")[-1], keys(ask, "certificate")[0]
    exports = (("json", "application/json"), ("readings", "text/csv"), ("0", "application/toml"), ("1", "text/csv"))
    done = ask("SELECT max(id) FROM work_job WHERE state = 'done'")[0][0]
    return {
        "record_export": [(reverse("record_export", args=[record, what]), kind) for what, kind in exports],
        "certificate_pdf": [(reverse("certificate_pdf", args=[signed]), "application/pdf")],
        "study_sheet": [(reverse("study_sheet", args=[key]), "application/pdf") for key in keys(ask, "study")],
        "study_file": [(reverse("study_file", args=[keys(ask, "study")[0]]), "text/csv")],
        "job_result": [(reverse("job_result", args=[done]), "application/pdf")],
    }


def leads(ask: Ask) -> list[tuple[str, str]]:
    """Scanned codes with the pages they lead to."""
    of = (("p", "portion"), ("s", "sample"), ("b", "bottle"), ("i", "instrument"))
    first = {name: keys(ask, name)[0] for _, name in of}
    return [
        (f"{reverse('scan')}?code=iso:{letter}:{first[name]}", reverse(name, args=[first[name]])) for letter, name in of
    ]


def known() -> Sequence[str]:
    """Every route that has an example here."""
    alone = ("moisture_new", "ph_new", "study_keep", "trail")
    return (*PLAIN, *MANY, *ACTS, *alone, *OUTSIDE, *POSTED, *PARTS, *FILES, *LEADS)
