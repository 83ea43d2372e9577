"""Shows replies: plain lines for pipes and screen readers, the interactive prompt for a terminal."""
