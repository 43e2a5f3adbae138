"""Why a product behaves so: sorption, formulation, transport, stability (beside the bench, never importing it)."""
