"""The rules as files: strict reading, schema, loading into one immutable RuleBase, and the checks on it."""
