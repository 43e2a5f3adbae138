"""An example address of every route, from the objects of the full plant; a route without one fails a test."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

from django.urls import reverse

from isohume.outlets.site.ledger.views import SITE_OF

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
    "chart": ("SELECT max(id) FROM charts_chart GROUP BY product_id IS NULL, ended_at IS NULL",),
    "product_capability": (f"{FIRST} register_product", f"{LAST} register_product"),
    "budgetrefresh": ("SELECT max(id) FROM budgets_budgetrefresh GROUP BY budget_id IS NULL",),
    "positionmap": ("SELECT max(id) FROM strata_positionmap", "SELECT min(id) FROM strata_positionmap"),
    "samplingplan": ("SELECT max(id) FROM strata_samplingplan GROUP BY kind",),
    "instrumentcomparison": ("SELECT max(id) FROM comparisons_instrumentcomparison GROUP BY stand_in",),
    "proficiencyround": ("SELECT max(id) FROM comparisons_proficiencyround GROUP BY word, explained_at IS NULL",),
    "gaugestudy": (f"{LAST} comparisons_gaugestudy",),
    "sitecomparison": ("SELECT max(id) FROM comparisons_sitecomparison GROUP BY outcome",),
    "blindreference": (
        "SELECT max(id) FROM comparisons_blindreference GROUP BY within, decided_at IS NULL, competence_id IS NULL",
    ),
    "correction": ("SELECT max(id) FROM adjustments_correction GROUP BY ended_at IS NULL",),
    "suppliermaterial": ("SELECT max(id) FROM incoming_suppliermaterial",),
    "supplierlot": ("SELECT max(id) FROM incoming_supplierlot GROUP BY state",),
    "historicfile": ("SELECT max(id) FROM incoming_historicfile GROUP BY kind",),
    "keptheat": (f"{LAST} studies_keptheat",),
    "job": ("SELECT max(id) FROM work_job GROUP BY kind, state",),
    "agent": ("SELECT max(id) FROM captures_agent GROUP BY revoked_at IS NULL",),
    "capturedrun": (
        "SELECT max(id) FROM captures_capturedrun "
        "GROUP BY fate, ended_at IS NULL, portion_id IS NULL, bottle_id IS NULL",
    ),
    "expected": ("SELECT max(id) FROM captures_expected GROUP BY taken_id IS NULL, dropped_at IS NULL",),
}
PLAIN = (  # pages with nothing in their address
    "today", "live", "checks", "check_new", "shift", "lots", "records", "register", "lock", "password", "people", "due",
    "instruments", "instrument_new", "methods", "method_new", "solutions", "solution_new", "products", "product_new",
    "lot_new", "sample_new", "tempering", "second_keying", "import_runs", "labels", "in_process", "hand_over_new",
    "start_sheet", "cleaning_new", "sign", "deviations", "verify", "studies", "study_new", "budgets",
    "charts", "chart_rules", "chart_review", "control_product_new",
    "comparisons", "instrument_comparisons", "comparison_new", "rounds", "round_new", "precision", "gauge_studies",
    "gauge_new", "site_comparisons", "site_comparison_new", "blind_references", "blind_new",
    "outbox", "incoming", "suppliermaterial_new", "supplierlot_new", "history", "history_new",
    "agents", "captured_check", "accounting",
)  # fmt: skip
ACTS = {  # a change with a page of its own: whose object, and what is done to it
    "instrument_act": ("instrument", ("change", "withdraw", "return")),
    "method_act": ("method", ("version",)),
    "methodversion_act": ("methodversion", ("budget",)),
    "solutionlot_act": ("solutionlot", ("bottle", "weighing", "withdraw")),
    "bottle_act": ("bottle", ("open", "discard")),
    "product_act": ("product", ("specification",)),
    "chart_act": ("chart", ("rules", "event", "end")),
    "supplierlot_decide": ("supplierlot", ("accept", "hold", "reject")),
}
BENCH = (  # the pages of a shift; the others are the office's
    "today", "checks", "check", "check_new", "shift", "tempering", "second_keying", "start_sheet", "cleaning_new",
    "lot_new", "sample_new", "sample", "portion", "run", "import_runs", "importedfile", "labels", "in_process",
    "inprocessreading", "hand_over_new", "outbox", "lots", "lot", "moisture_new", "ph_new",
    "live", "capturedrun", "captured_check", "expected",
)  # fmt: skip
ADJUSTING = {  # pages of a check, an instrument, a method, in each of its states
    "check_sequence": (
        "SELECT max(id) FROM checks_check WHERE NOT passed AND voided_at IS NULL GROUP BY instrument_id",
        "SELECT min(id) FROM checks_check WHERE NOT passed AND voided_at IS NULL",
    ),
    "adjustments": (f"{FIRST} register_instrument", "SELECT instrument_id FROM adjustments_correction"),
    "adjustment_new": (f"{FIRST} register_instrument", "SELECT instrument_id FROM adjustments_instrumentadjustment"),
    "correction_new": (f"{FIRST} register_instrument", f"{LAST} register_instrument"),
    "correction_caps": ("SELECT id FROM register_method",),
}
INCOMING = {  # pages of a lot, a product, a supplier's lot, in each of its states
    "lot_restate": ("SELECT max(id) FROM bench_lot GROUP BY state",),
    "heat_new": (f"{FIRST} register_product", "SELECT product_id FROM studies_keptheat"),
    "supplierlot_determine": ("SELECT max(id) FROM incoming_supplierlot GROUP BY state",),
}
LOOKED_BACK = {  # pages of a check, a lot, a retain, a shipment
    "look_back": ("SELECT max(id) FROM checks_check GROUP BY passed, voided_at IS NULL",),
    "whereabouts": (f"{LAST} bench_lot", "SELECT max(lot_id) FROM lookback_shipment"),
    "retain_new": (f"{LAST} bench_lot",),
    "shipment_new": (f"{LAST} bench_lot",),
    "retain_use": (f"{LAST} lookback_retain",),
    "shipment_told": (f"{LAST} lookback_shipment",),
}
STRATA = ("lot_positions", "product_positions", "product_sampling")
COMPARED = ("round_explain", "blind_read", "blind_decide")  # acts of one comparison, each in the state it is done in
OF_OTHERS = {*ADJUSTING, *INCOMING, *LOOKED_BACK, *STRATA, "budget_refresh", *COMPARED, "study_keep", "trail"}
OFFICE = tuple(sorted({*PLAIN, *MANY, *ACTS, *OF_OTHERS} - {*BENCH}))
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
    "fresh_portion": "check_sequence",
    "correction_end": "correction",
    "look_back_hold": "look_back",
    "look_back_sheet": "look_back",
    "live_next": "live",
    "accounting_deviation": "accounting",
    "live_notices": "live",
    "live_act": "capturedrun",
    "agent_revoke": "agent",
    "capturedrun_act": "capturedrun",
    "expected_drop": "expected",
}
PARTS = ("check_expected", "shift_row")  # pieces of a page that the page itself asks for
FILES = (
    "record_export", "certificate_pdf", "job_result", "study_sheet", "study_file", "historicfile_raw",
    "captured_export", "outbox_token", "outbox_worker",
)  # fmt: skip
LEADS = ("scan",)  # leads to another page
TOKENS = ("captured_in", "captured_last")  # asked by bench agents, which have a token and no session
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
    "chart": ("kind=individuals&span=year", "kind=ewma&span=year", "kind=cusum&span=month"),
    "instrument_comparisons": ("first=1&second=1&days=90&allowed=0.005&product=", "days=0", "days=3000&allowed=0.003"),
    "precision": ("product=1&days=3000", "days=none"),
    "captured_check": ("instrument=OW-9",),
    "accounting": ("instrument=1", "from=2026-01-01&to=2026-01-31", "from=2026-02-01&to=2026-01-01"),
}
TRAILS = {
    "budget": "register_budget",
    "balancerecord": "register_balancerecord",
    "startsheet": "checks_startsheet",
    "cleaning": "checks_cleaning",
    "secondkeying": "bench_secondkeying",
    "columnmapping": "bench_columnmapping",
    "handover": "bench_handover",
    "chartrule": "charts_chartrule",
    "chartevent": "charts_chartevent",
    "moisturedetermination": "lots_moisturedetermination",
    "phdetermination": "lots_phdetermination",
    "freshportion": "adjustments_freshportion",
    "instrumentadjustment": "adjustments_instrumentadjustment",
    "correctioncaps": "adjustments_correctioncaps",
    "supplierdetermination": "incoming_supplierdetermination",
    "historicmapping": "incoming_historicmapping",
}


def keys(ask: Ask, name: str) -> list[Any]:
    """The objects of a route, the first one first."""
    asked = {**MANY, **ADJUSTING, **INCOMING, **LOOKED_BACK}[name]
    found = [row[0] for question in asked for row in ask(question)]
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
    for name, asked in {**ADJUSTING, **INCOMING, **LOOKED_BACK}.items():
        found[name] = [reverse(name, args=[row[0]]) for question in asked for row in ask(question)]
    for name in ("moisture_new", "ph_new"):
        found[name] = [reverse(name, args=[ask(f"{LAST} bench_lot")[0][0]])]
    found["lot_positions"] = [reverse("lot_positions", args=[key]) for key in keys(ask, "lot")]
    for name in ("product_positions", "product_sampling"):
        found[name] = [reverse(name, args=[key]) for key in keys(ask, "product")]
    by = "?kind={}&aql_percent=1&producer_risk_percent=5&lq_percent=10&consumer_risk_percent=10"
    plan = found["product_sampling"][0] + by
    found["product_sampling"] += [plan.format("attributes"), plan.format("variables")]
    found["round_explain"] = [reverse("round_explain", args=[keys(ask, "proficiencyround")[-1]])]
    for name, state in (("blind_read", "read_at IS NULL"), ("blind_decide", "decided_at IS NULL AND read_at NOT NULL")):
        blind = ask(f"{LAST} comparisons_blindreference WHERE {state}")[0][0]
        found[name] = [reverse(name, args=[blind])]
    found["budget_refresh"] = [reverse("budget_refresh", args=[key]) for key in keys(ask, "methodversion")]
    found["study_keep"] = [reverse("study_keep", args=[key]) for key in keys(ask, "study")]
    fitted = reverse("study", args=[keys(ask, "study")[-1]])
    found["study"] += [f"{fitted}?a_w_limit=0.99", f"{fitted}?ask_a_w=0.5&ask_moisture=8.1", f"{fitted}?ask_a_w=0.99"]
    found["isotherm"] += [f"{found['isotherm'][0]}?ask_a_w=0.5&ask_formula=other"]
    found["trail"] = [_trail(ask, kind, f"{LAST} {table}") for kind, table in TRAILS.items()]
    found["trail"] += [_trail(ask, kind, MANY[kind][-1]) for kind in MANY if kind in SITE_OF]
    found["trail"] += [reverse("trail", args=["deviation", key]) for key in keys(ask, "deviation")]
    found["lot_restate"] += [f"{found['lot_restate'][0]}?to_c=30", f"{found['lot_restate'][0]}?to_c=77F&heat=none"]
    found["suppliermaterial_new"] += [f"{found['suppliermaterial_new'][0]}?of={keys(ask, 'suppliermaterial')[0]}"]
    for name, questions in ASKED.items():
        found[name] += [f"{found[name][0]}?{question}" for question in questions]
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
        "historicfile_raw": [(reverse("historicfile_raw", args=[keys(ask, "historicfile")[0]]), "text/csv")],
        "job_result": [(reverse("job_result", args=[done]), "application/pdf")],
        "outbox_token": [(reverse("outbox_token"), "application/json")],
        "outbox_worker": [(reverse("outbox_worker"), "text/javascript")],
        "captured_export": [
            (reverse("captured_export", args=[keys(ask, "capturedrun")[0], kind]), media)
            for kind, media in (("csv", "text/csv"), ("parquet", "application/vnd.apache.parquet"))
        ],
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
    alone = ("moisture_new", "ph_new", *STRATA, "budget_refresh", *COMPARED, "study_keep", "trail")
    given = (*PLAIN, *MANY, *ACTS, *ADJUSTING, *INCOMING, *LOOKED_BACK)
    return (*given, *alone, *OUTSIDE, *POSTED, *PARTS, *FILES, *LEADS, *TOKENS)
