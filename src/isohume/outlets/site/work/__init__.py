"""Work that takes longer than a page may: queued as jobs, done by the worker process."""
