"""The case: what the statements of a talk add up to, and the numbers computed from them before rules are run."""
