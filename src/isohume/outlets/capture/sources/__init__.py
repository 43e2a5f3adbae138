"""Where lines come from: serial lines, folders, standard input; each in a thread of its own, all into one queue."""
