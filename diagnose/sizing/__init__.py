"""How much: the functions that rule files name as `size`, and when not to move anything at all."""

from collections.abc import Callable, Mapping

from diagnose.sizing.plain import temperature_step
from diagnose.sizing.purging import grind_step_with_purge, purge_step
from diagnose.sizing.recipe import dose_to_recipe, yield_for_roast, yield_to_recipe
from diagnose.sizing.sized import Request, Sized

SIZES: Mapping[str, Callable[[Request], Sized]] = {
    "grind_step": grind_step_with_purge,
    "purge_step": purge_step,
    "dose_to_recipe": dose_to_recipe,
    "yield_to_recipe": yield_to_recipe,
    "yield_for_roast": yield_for_roast,
    "temperature_step": temperature_step,
}

__all__ = ["SIZES", "Request", "Sized"]
