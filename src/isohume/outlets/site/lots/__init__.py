"""May this lot go: judging, deciding, deviations, signing, release."""
