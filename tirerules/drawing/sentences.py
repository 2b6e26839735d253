"""The words of drawings, which are rows of `tirerules.templates` whose names begin with ``drawing.``."""

from __future__ import annotations

from tirerules.templates import filled

TYPE_CHECKING = False
if TYPE_CHECKING:
    from tirerules.templates import Parameter

__all__ = ["sentence"]


def sentence(name: str, **parameters: Parameter) -> str:
    """Return a sentence with its placeholders filled. Raises KeyError for a name or a placeholder that is none."""
    return filled(f"drawing.{name}", parameters)
