"""Talks to practise with: written down in Markdown, replayed, and compared with what would be answered today."""
