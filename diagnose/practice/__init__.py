"""To practise with: talks written down in Markdown and replayed, and simulated bars that show if advice holds up."""
