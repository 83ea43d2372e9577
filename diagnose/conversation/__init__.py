"""The conversation: free text in, a Reply out, until it ends honestly."""

from diagnose.conversation.reply import Reply
from diagnose.conversation.talk import Conversation

__all__ = ["Conversation", "Reply"]
