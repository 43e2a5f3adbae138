"""The tables, version by version."""
