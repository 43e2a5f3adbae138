"""The bench site: server-rendered pages over the embedded database; every change is an action with its ledger line."""
