"""What a person types becomes statements: numbers with units, observations, trials, theories, answers, commands.

``understand(text, Lexicon.from_rules(base))`` is the entry; nothing it meets makes it raise.
"""

from diagnose.language.lexicon import Lexicon
from diagnose.language.understand import Understanding, understand

__all__ = ["Lexicon", "Understanding", "understand"]
