"""What the endings of the program mean to a shell."""

EXIT_CLEAN = 0
EXIT_FAULTS = 1
EXIT_BAD_INPUT = 2
EXIT_CRASHED = 70  # a fault of the program itself: EX_SOFTWARE of BSD's sysexits.h
EXIT_INTERRUPTED = 130
EXIT_UNREAD = 141  # the reader of stdout went away, as `head` does: 128 + SIGPIPE, as shells count it

INTERRUPTED = "dressform: interrupted; nothing was left half-written."
