"""The words people read first and last: verdicts by activity, and the cautions that travel with every answer."""

from __future__ import annotations

from tirerules.templates import TEMPLATES, filled
from tirerules.vocabulary import Activity, Verdict

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Mapping

    from tirerules.templates import Parameter

__all__ = ["CAUTIONS", "verdict_template", "verdict_words"]

#: What every answer says, whatever it is.
CAUTIONS = tuple(template.english for name, template in TEMPLATES.items() if name.startswith("caution."))


def verdict_template(activity: str, verdict: Verdict, method: str | None) -> tuple[str, Mapping[str, Parameter]]:
    """Return the template of a verdict and what fills it; `method` repairs every injury, if one does."""
    if verdict is Verdict.UNDETERMINED:
        return "verdict.undetermined", {}
    if verdict is Verdict.OUTSIDE:
        return f"verdict.{activity}.outside", {}
    if method is not None:
        return "verdict.repair.within-by-method", {"method": method}
    return f"verdict.{activity}.within" + ("-each" if activity == Activity.REPAIR else ""), {}


def verdict_words(activity: str, verdict: Verdict, method: str | None) -> str:
    """Return the verdict as a counter person says it; `method` repairs every injury, if one does."""
    return filled(*verdict_template(activity, verdict, method))
