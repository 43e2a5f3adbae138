"""Actions and their trail: one change, one transaction, one ledger line."""
