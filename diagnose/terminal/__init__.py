"""Shows replies: plain lines for pipes and screen readers, the interactive prompt for a terminal."""

INTERRUPTED = 130  # exit code after Ctrl-C, as shells have it
