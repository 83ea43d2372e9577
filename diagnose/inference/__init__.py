"""Inference: rules fire, numbers weigh, one next step is chosen. A pure function of rule base and case."""
