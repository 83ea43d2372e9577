"""Why, and why not: reads what inference concluded, never derives a finding of its own."""

from diagnose.explanation.why import best_explanation, for_nothing_wrong
from diagnose.explanation.why_not import WhatWouldChange, WhyNot, why_not

__all__ = ["WhatWouldChange", "WhyNot", "best_explanation", "for_nothing_wrong", "why_not"]
