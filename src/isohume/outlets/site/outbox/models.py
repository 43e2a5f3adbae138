"""No tables: what waits stands on the tablet, and what was kept stands in the ledger."""
