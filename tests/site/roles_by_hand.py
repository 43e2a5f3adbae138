"""Who may do what, written down from the trade and not from the code.

An analyst runs the bench. A manager answers for methods, instruments, references, checks, and does bench work where the
plant is small. A release officer decides on lots. A developer answers for products and their limits. An auditor reads
everything and changes nothing. An administrator keeps accounts and touches no measurement. Whoever is signed in keeps
the own password and may have a copy of a record.
"""

from __future__ import annotations

ANALYST, MANAGER, OFFICER = "analyst", "manager", "release officer"
DEVELOPER, AUDITOR, ADMINISTRATOR = "developer", "auditor", "administrator"
ROLES = (ANALYST, MANAGER, OFFICER, DEVELOPER, AUDITOR, ADMINISTRATOR)
EVERYBODY = frozenset(ROLES)
BENCH = frozenset({ANALYST, MANAGER})
RELEASE = frozenset({MANAGER, OFFICER})
ONLY_MANAGER, ONLY_ADMINISTRATOR = frozenset({MANAGER}), frozenset({ADMINISTRATOR})

MAY: dict[str, frozenset[str]] = {
    # accounts
    "person_invited": ONLY_ADMINISTRATOR,
    "person_invited_again": ONLY_ADMINISTRATOR,
    "roles_changed": ONLY_ADMINISTRATOR,
    "account_active_changed": ONLY_ADMINISTRATOR,
    "person_unlocked": ONLY_ADMINISTRATOR,
    "password_set": EVERYBODY,
    "password_changed": EVERYBODY,
    "competence_shown": ONLY_MANAGER,
    # what the plant measures with and by
    "instrument_added": ONLY_MANAGER,
    "instrument_changed": ONLY_MANAGER,
    "instrument_withdrawn": ONLY_MANAGER,
    "instrument_returned": ONLY_MANAGER,
    "method_added": ONLY_MANAGER,
    "method_version_added": ONLY_MANAGER,
    "budget_set": ONLY_MANAGER,
    "budget_adopted": ONLY_MANAGER,
    "budget_kept": ONLY_MANAGER,
    "solution_lot_added": ONLY_MANAGER,
    "solution_lot_withdrawn": ONLY_MANAGER,
    "weighing_recorded": BENCH,
    "bottle_added": ONLY_MANAGER,
    "bottle_opened": BENCH,
    "bottle_discarded": BENCH,
    # what is made, and what it may be
    "product_added": frozenset({MANAGER, DEVELOPER}),
    "specification_added": frozenset({MANAGER, DEVELOPER}),
    # how drift is seen
    "chart_rules_chosen": ONLY_MANAGER,
    "chart_event_added": ONLY_MANAGER,
    "control_product_marked": ONLY_MANAGER,
    "control_product_ended": ONLY_MANAGER,
    "charts_reviewed": ONLY_MANAGER,
    # what its points say, and which isotherm it goes by
    "study_added": frozenset({MANAGER, DEVELOPER}),
    "study_fit_asked": frozenset({MANAGER, DEVELOPER}),
    "isotherm_kept": frozenset({MANAGER, DEVELOPER}),
    "heat_kept": frozenset({MANAGER, DEVELOPER}),
    # what is bought, against its certificate; what is brought of the time before
    "material_limits_set": frozenset({MANAGER, DEVELOPER}),
    "supplier_lot_received": BENCH,
    "supplier_lot_determined": BENCH,
    "supplier_lot_decided": RELEASE,
    "historic_mapping_saved": ONLY_MANAGER,
    "history_brought": ONLY_MANAGER,
    # where portions of a lot are taken, and how many
    "position_map_saved": frozenset({MANAGER, DEVELOPER}),
    "sampling_plan_saved": frozenset({MANAGER, DEVELOPER}),
    # the bench
    "start_sheet_filled": BENCH,
    "cleaning_logged": BENCH,
    "check_recorded": BENCH,
    "check_voided": ONLY_MANAGER,
    "lot_received": BENCH,
    "sample_received": BENCH,
    "portion_prepared": BENCH,
    "portion_covered": BENCH,
    "temperature_taken": BENCH,
    "portion_discarded": BENCH,
    "run_recorded": BENCH,
    "run_corrected": BENCH,
    "run_voided": BENCH,
    "run_keyed_second": frozenset({ANALYST, MANAGER, OFFICER}),
    "runs_imported": BENCH,
    "mapping_saved": BENCH,
    "labels_printed": BENCH,
    "in_process_read": BENCH,
    "moisture_recorded": BENCH,
    "ph_recorded": BENCH,
    "hand_over_written": frozenset({ANALYST, MANAGER, OFFICER, DEVELOPER}),
    # after a failed check: the bench pours and cleans, a manager answers for what is moved
    "fresh_portion_logged": BENCH,
    "instrument_adjusted": ONLY_MANAGER,
    "correction_started": ONLY_MANAGER,
    "correction_ended": ONLY_MANAGER,
    "correction_caps_set": ONLY_MANAGER,
    # the decision
    "lot_judged": frozenset({ANALYST, MANAGER, OFFICER}),
    "lot_held": frozenset({ANALYST, MANAGER, OFFICER}),
    "deviation_opened": frozenset({ANALYST, MANAGER, OFFICER, DEVELOPER}),
    "deviation_owned": RELEASE,
    "deviation_closed": RELEASE,
    "records_signed": RELEASE,
    # lots at risk of a failed check
    "list_held": frozenset({ANALYST, MANAGER, OFFICER}),
    "look_back_sheet_asked": EVERYBODY,
    "retain_kept": frozenset({ANALYST, MANAGER, OFFICER}),
    "retain_used": frozenset({ANALYST, MANAGER, OFFICER}),
    "shipment_recorded": RELEASE,
    "consignee_told": RELEASE,
    "certificate_asked": EVERYBODY,
    # how one is told of runs
    "notices_chosen": EVERYBODY,
    # what an instrument gave, and what a person makes of it
    "agent_registered": ONLY_MANAGER,
    "agent_revoked": ONLY_MANAGER,
    "run_expected": BENCH,
    "run_expected_dropped": BENCH,
    "captured_run_assigned": BENCH,
    "captured_run_accepted": BENCH,
    "captured_run_voided": BENCH,
    "captured_check_recorded": BENCH,
    # what a tablet entered without the network and the server refused
    "entry_set_aside": BENCH,
    # instruments, rounds, gauge studies and sites compared; blind references
    "instrument_comparison_kept": ONLY_MANAGER,
    "proficiency_round_recorded": ONLY_MANAGER,
    "proficiency_round_explained": ONLY_MANAGER,
    "gauge_study_added": BENCH,
    "sites_compared": ONLY_MANAGER,
    "blind_reference_set": ONLY_MANAGER,
    "blind_reference_read": BENCH,
    "blind_reference_decided": ONLY_MANAGER,
}
SIGNS: dict[str, frozenset[str]] = {
    "reviewed": RELEASE,
    "approved": RELEASE,
    "released": frozenset({OFFICER}),
    "rejected": RELEASE,
}
# Every page of a plant is open to everybody of it: who may not act may look, and an auditor looks at everything.
SEES_EVERY_PAGE = EVERYBODY
# these and no others answer somebody who is not signed in; an agent is asked for its token instead
PUBLIC_PAGES = frozenset({"sign_in", "set_up", "captured_in", "captured_last"})
