"""What the terminal needs of a conversation."""

from typing import Protocol

from diagnose.conversation.reply import Reply
from diagnose.model import NextStep, Setting
from diagnose.rulebase.base import RuleBase


class Speaker(Protocol):
    """Whoever answers a line of text."""

    def say(self, text: str) -> Reply:
        """Return the reply to one line. Raises DiagnoseError when this line cannot be answered."""


class Talk(Speaker, Protocol):
    """A conversation one can also look at: what is open, how many shots were told, and whose words it uses."""

    setting: Setting

    @property
    def pending(self) -> NextStep | None:
        """Return the step or question the last reply ended with."""

    @property
    def shots_told(self) -> int:
        """Return how many shots were told in this talk."""

    @property
    def rules(self) -> RuleBase:
        """Return the rule base talked with."""
