"""Live streams: a small process of its own that reads the ledger and never writes."""
