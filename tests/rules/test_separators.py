"""Causes that are easily taken for each other, and the cheap look or question that tells them apart.

The pairs and what separates them are common practice of the trade, no source.
"""

import pytest

from diagnose.inference.likelihood import Row, Tables, decibans
from diagnose.rulebase.base import RuleBase
from diagnose.rulebase.loader import load

# Two causes, and the finding whose answer speaks for one and against the other.
PAIRS = [
    ("grind_too_coarse", "dose_low", "dose"),
    ("grind_too_coarse", "beans_stale", "flavour"),
    ("grind_too_coarse", "uneven_distribution", "repeats"),
    ("grind_too_coarse", "run_too_long", "yield"),
    ("grind_too_coarse", "grinder_cannot_go_fine", "grinder_room"),
    ("grind_too_coarse", "pressure_low", "blind_pressure"),
    ("grind_too_fine", "dose_high", "dry_print"),
    ("grind_too_fine", "scale_in_machine", "water_only"),
    ("grind_too_fine", "screen_blocked", "spread"),
    ("grind_too_fine", "water_supply_fault", "water_only"),
    ("grind_too_fine", "roast_too_dark", "burnt_taste"),
    ("grind_too_fine", "group_dirty", "screen_cloth"),
    ("run_too_long", "group_dirty", "screen_cloth"),
    ("run_too_long", "beans_stale", "papery_taste"),
    ("pressurised_basket", "basket_hole_blocked", "single_hole"),
    ("stopped_short", "grind_too_fine", "dilution_test"),
    ("stopped_short", "roast_too_light", "acid_kind"),
    ("recipe_too_short_for_roast", "roast_too_light", "acid_kind"),
    ("machine_not_warm", "recipe_too_short_for_roast", "warmed_up"),
    ("machine_not_warm", "water_too_soft", "onset"),
    ("beans_too_fresh", "uneven_distribution", "bean_freshness"),
    ("beans_too_fresh", "robusta_as_it_is", "coffee_kind"),
    ("beans_too_fresh", "pressurised_basket", "basket_kind"),
    ("beans_stale", "burr_chamber_dirty", "care_grinder"),
    ("beans_stale", "water_too_hard", "water_swap"),
    ("beans_stale", "burrs_worn", "burr_age"),
    ("new_bag", "setting_moved", "dial_mark"),
    ("grinder_warm", "hopper_low", "hopper_state"),
    ("grinder_warm", "beans_ageing", "onset"),
    ("burrs_worn", "burrs_misaligned", "onset"),
    ("burrs_worn", "burrs_refitted_wrong", "onset"),
    ("grounds_retained", "grind_too_fine", "repeats"),
    ("odd_shot", "grind_too_coarse", "repeats"),
    ("uneven_distribution", "tamp_uneven", "side_pattern"),
    ("tamp_uneven", "machine_not_level", "rotate_test"),
    ("tamp_uneven", "screen_blocked", "rotate_test"),
    ("uneven_distribution", "spouts_uneven", "spout_look"),
    ("exhaust_valve_fouled", "dose_low", "end_hiss"),
    ("exhaust_valve_leaking", "pump_worn", "tray_water"),
    ("air_lock", "pump_worn", "pump_sound"),
    ("gasket_worn", "rim_grounds", "handle_position"),
    ("gasket_worn", "rim_grounds", "rim_state"),
    ("dosing_fault", "dose_low", "button_repeat"),
    ("dosing_fault", "not_weighed", "button_repeat"),
    ("brew_too_hot", "roast_too_dark", "onset"),
    ("brew_too_hot", "grind_too_fine", "onset"),
    ("residue_left", "bean_defect", "water_taste"),
    ("cup_cold", "machine_not_warm", "cup_warmed"),
    ("cup_cold", "brew_too_cool", "cup_warmed"),
    ("too_little_air", "milk_unsuited", "other_milk"),
    ("too_little_air", "steam_tip_blocked", "wand_jets"),
    ("too_much_air", "no_whirlpool", "milk_volume_growth"),
    ("steam_scaled", "steam_not_ready", "steam_power"),
    ("wand_not_purged", "wet_steam", "purge_done"),
    ("plant_drink_split", "milk_off", "milk_kind"),
]


@pytest.fixture(scope="module")
def base() -> RuleBase:
    """Return the installed rule base."""
    return load(None)


@pytest.mark.parametrize(("first", "second", "finding"), PAIRS, ids=lambda name: name)
def test_one_answer_speaks_for_one_cause_and_against_the_other(
    base: RuleBase, first: str, second: str, finding: str
) -> None:
    """Some answer to the separating question has weights of opposite sign for the two causes."""
    tables = Tables(base, "training")
    usual = tables.bases[finding]

    def row(cause: str) -> Row:
        every = frozenset((cause, index) for index in range(len(base.causes[cause].shows)))
        return tables.shown(cause, finding, every) or usual

    ask = base.findings[finding].ask
    groups = [answer.levels for answer in ask.answers] if ask else [(level,) for level in usual]
    signs = [decibans(row(first), usual, group) * decibans(row(second), usual, group) for group in groups]
    assert min(signs) < -0.1, [(group, round(sign, 2)) for group, sign in zip(groups, signs, strict=True)]


def test_coffee_ground_in_a_shop_is_told_from_a_coarse_setting_by_who_ground_it(base: RuleBase) -> None:
    """These two need no weights: each is impossible where the other is possible."""
    needs = {
        cause: {level for need in base.causes[cause].needs if need.finding == "ground_by" for level in need.levels}
        for cause in ("grind_too_coarse", "shop_ground")
    }
    assert all(needs.values())
    assert needs["grind_too_coarse"].isdisjoint(needs["shop_ground"])
