"""Milk in the jug: heat and water from the steam, taking air in, when to stop, what scalds and how cold to keep it."""
