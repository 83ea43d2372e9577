"""Coffee troubleshooting assistant: what you saw goes in, ranked causes and one next step come out.

``from diagnose import Conversation`` is the public entry. Nothing heavy is imported until it is used,
so that ``diagnose --help`` stays as quick as the interpreter itself.
"""

TYPE_CHECKING = False  # typing takes as long to import as argparse
if TYPE_CHECKING:
    from diagnose.conversation import Conversation, Reply

__version__ = "0.1.0"
__all__ = ["Conversation", "Reply", "__version__"]


def __getattr__(name: str) -> object:
    """Import the public classes on first use."""
    if name in {"Conversation", "Reply"}:
        from diagnose import conversation

        return {"Conversation": conversation.Conversation, "Reply": conversation.Reply}[name]
    message = f"module 'diagnose' has no attribute {name!r}"
    raise AttributeError(message)
