"""After a failed check: the guided sequence, as-found and as-left, and corrections with their versions."""
