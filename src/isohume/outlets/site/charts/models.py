"""Control charts of instruments and control products: the rules a laboratory chose, phases, signals, capability."""
