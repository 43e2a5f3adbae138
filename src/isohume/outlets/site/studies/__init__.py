"""Studies: saved calculations of the product ring, each linked to the product it speaks about."""
