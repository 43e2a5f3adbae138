"""Heavy evidence: kills, tampering, coverage; run by `make prove`, its dated output committed in docs/proof."""
