"""Causes that are taken for each other: what separates them is asked first, and every cause differs from all others.

The pairs and what separates them are common practice of the trade, no source.
"""

from collections.abc import Iterator
from functools import cache
from itertools import combinations
from typing import NamedTuple

import pytest

from diagnose.case.fold import Case, Observation
from diagnose.inference.expected_cost import Query, cost_of_asking, plan
from diagnose.inference.forward import ForwardChainer
from diagnose.inference.hypotheses import Belief, Hypothesis, Weigher
from diagnose.inference.likelihood import Row, Tables, decibans
from diagnose.inference.next_step import Chooser
from diagnose.model import NOTHING_WRONG
from diagnose.rulebase.base import RuleBase
from tests.rules.materials import rules
from tests.rules.separators import contrasts

ENOUGH_DB = 6.9  # a moderate grade, less what coherence of the row takes
LIKELY = 0.1  # an answer that separates must be at least this likely under one of the two
FIRST, ABOUT_AS_CHEAP_S = 2, 5.0
SHARED_DB = 2.9


class Confused(NamedTuple):
    """Two causes and the finding that separates them cheaply."""

    first: str
    second: str
    finding: str


CONFUSED = [
    Confused("grind_too_coarse", "dose_low", "dose"),  # weigh the next dose; reweigh after a grind change on a timer
    Confused("grind_too_coarse", "beans_stale", "bean_freshness"),
    Confused("grind_too_coarse", "uneven_distribution", "repeats"),
    Confused("grind_too_coarse", "run_too_long", "yield"),
    Confused("grind_too_coarse", "grinder_cannot_go_fine", "grinder_room"),
    Confused("grind_too_coarse", "shop_ground", "ground_by"),
    Confused("grind_too_coarse", "pressure_low", "blind_pressure"),
    Confused("grind_too_coarse", "dose_drifts", "dose"),
    Confused("grind_too_fine", "dose_high", "dose"),
    Confused("grind_too_fine", "scale_in_machine", "water_only"),
    Confused("grind_too_fine", "screen_blocked", "spread"),
    Confused("grind_too_fine", "water_supply_fault", "water_only"),
    Confused("grind_too_fine", "roast_too_dark", "roast"),
    Confused("grind_too_fine", "basket_hole_blocked", "single_hole"),
    Confused("grind_too_fine", "group_dirty", "screen_cloth"),
    Confused("run_too_long", "grind_too_fine", "dryness"),  # bitter or dry on the tongue
    Confused("run_too_long", "stopped_short", "taste_lean"),  # bitter or sour: the words are mixed up
    Confused("stopped_short", "grind_too_fine", "dilution_test"),  # too strong or bitter
    Confused("run_too_long", "beans_stale", "flavour"),  # weak or flat
    Confused("stopped_short", "roast_too_light", "acid_kind"),
    Confused("machine_not_warm", "recipe_too_short_for_roast", "warmed_up"),
    Confused("machine_not_warm", "water_too_soft", "onset"),
    Confused("stopped_short", "milk_off", "black_too"),  # sour coffee or sour milk
    Confused("beans_too_fresh", "uneven_distribution", "bean_freshness"),
    Confused("beans_too_fresh", "robusta_as_it_is", "bean_freshness"),
    Confused("beans_stale", "burr_chamber_dirty", "rancid_taste"),
    Confused("beans_stale", "water_too_hard", "water_swap"),
    Confused("new_bag", "setting_moved", "dial_mark"),
    Confused("grinder_warm", "hopper_low", "hopper_state"),
    Confused("grinder_warm", "beans_ageing", "onset"),
    Confused("burrs_worn", "beans_ageing", "burr_age"),
    Confused("burrs_worn", "burrs_refitted_wrong", "onset"),
    Confused("grounds_retained", "grind_too_fine", "repeats"),
    Confused("odd_shot", "grind_too_coarse", "repeats"),
    Confused("uneven_distribution", "tamp_uneven", "side_pattern"),
    Confused("tamp_uneven", "machine_not_level", "rotate_test"),
    Confused("uneven_distribution", "spouts_uneven", "spout_look"),
    Confused("exhaust_valve_fouled", "dose_low", "end_hiss"),
    Confused("exhaust_valve_leaking", "pump_worn", "tray_water"),
    Confused("air_lock", "pump_worn", "pump_sound"),
    Confused("gasket_worn", "rim_grounds", "rim_state"),
    Confused("dosing_fault", "dose_low", "button_repeat"),
    Confused("brew_too_hot", "roast_too_dark", "burnt_taste"),
    Confused("brew_too_hot", "grind_too_fine", "onset"),
    Confused("too_little_air", "milk_unsuited", "other_milk"),
    Confused("too_little_air", "steam_tip_blocked", "wand_jets"),
    Confused("too_much_air", "no_whirlpool", "milk_volume_growth"),
    Confused("steam_scaled", "steam_not_ready", "steam_power"),
    Confused("wand_not_purged", "wet_steam", "purge_done"),
    Confused("plant_drink_split", "milk_off", "milk_kind"),
    Confused("cup_cold", "machine_not_warm", "cup_warmed"),
    Confused("too_much_milk", "shot_weak_under_milk", "black_too"),
    Confused("residue_left", "bean_defect", "water_taste"),
    Confused("normal_noise", "overpressure_valve_leaking", "heat_hiss"),
]

# Pairs whose separator is not among the first two questions, each looked at.
NOT_ASKED_FIRST = {
    ("run_too_long", "beans_stale"): "the look of the crema and the roast date come first: dearer, and they tell more",
    ("burrs_worn", "beans_ageing"): "the sound of the grinder and since when come first: dearer, and they tell more",
}
# Pairs whose separator tells less than a moderate grade, each looked at: what is asked before it tells more.
WEAK = {
    ("run_too_long", "grind_too_fine"): "both may leave a dry tongue; how fast it ran tells them apart",
    ("run_too_long", "stopped_short"): "sour and bitter are mixed up at home; the weight in the cup tells them apart",
    ("run_too_long", "beans_stale"): "thin and flat are alike on the tongue; roast date and crema tell them apart",
    ("stopped_short", "roast_too_light"): "an acid taste has no name at home; the roast tells them apart",
    ("beans_stale", "burr_chamber_dirty"): "old beans and old oil smell alike; when the grinder was cleaned tells",
    ("brew_too_hot", "roast_too_dark"): "both taste burnt; one coffee or all tells them apart",
}


@cache
def tables() -> Tables:
    """Return the tables at home."""
    return Tables(rules(), "home")


@cache
def chainer() -> ForwardChainer:
    """Return the compiled rules."""
    return ForwardChainer(rules())


def lead(cause: str, other: str) -> str:
    """Return the cause itself, or for a root one it acts through: the other one's, or one both act through."""
    base = rules()
    if base.causes[cause].prior is not None:
        return cause
    led = [name for name, spec in base.causes.items() if any(root.cause == cause for root in spec.roots)]
    both = [name for name in led if any(root.cause == other for root in base.causes[name].roots)]
    return other if other in led else (both or led)[0]


def row(cause: str, through: str, finding: str) -> Row:
    """Return what a cause shows, a root also what it acts through shows; weights under a condition speak too."""
    every = [frozenset((name, index) for index in range(50)) for name in (cause, through)]
    own = tables().shown(cause, finding, every[0])
    return own or tables().shown(through, finding, every[1]) or tables().bases[finding]


def shared(pair: Confused, base: RuleBase) -> Iterator[tuple[str, str]]:
    """Yield the complaints (finding and level) that both causes of a pair bring: what makes them confusable."""
    through = lead(pair.first, pair.second), lead(pair.second, pair.first)
    for name, spec in base.findings.items():
        if not spec.symptom or name == pair.finding:
            continue
        usual, rows = tables().bases[name], (row(pair.first, through[0], name), row(pair.second, through[1], name))
        weights = {
            level: min(decibans(own, usual, [level]) for own in rows) for level in spec.levels if level != spec.normal
        }
        best = max(weights, key=lambda level: weights[level])
        if weights[best] >= SHARED_DB:
            yield name, best


def chooser(pair: Confused) -> Chooser:
    """Return what would choose between two equally likely causes, with the complaints they share known."""
    base = rules()
    ask = base.findings[pair.finding].ask
    seen = {name: Observation((level,), "said", "") for name, level in shared(pair, base)}
    seen |= {str(need.finding): Observation(need.levels[:1], "said", "") for need in (ask.only_if if ask else ())}
    complaints = base.causes[lead(pair.first, pair.second)].complaints
    both = [name for name in complaints if name in base.causes[lead(pair.second, pair.first)].complaints] or complaints
    weigher = Weigher(base, tables(), Case("home", observations=seen), chainer().run([{}], seen), both[0])
    beliefs = [Belief(_hypothesis(*names), 0.45) for names in (pair[:2], pair[1::-1])]
    return Chooser(weigher, [*beliefs, Belief(Hypothesis((NOTHING_WRONG,), None, 0.2), 0.1)])


def _hypothesis(cause: str, other: str) -> Hypothesis:
    through = lead(cause, other)
    return Hypothesis((through,), None if through == cause else cause, 0.1)


def first_questions(chooser: Chooser) -> tuple[list[str], dict[str, Query]]:
    """Return the questions in the order of their worth, and all of them as numbers."""
    queries = chooser._queries()
    now = plan(chooser.probabilities, chooser.actions, chooser.ends).cost
    worth = {
        name: cost_of_asking(query, chooser.probabilities, chooser.actions, chooser.ends, now)
        for name, query in queries.items()
    }
    return sorted(worth, key=lambda name: (worth[name], name)), queries


def contrast(pair: Confused, finding: str) -> float:
    """Return how far one answer moves the two causes apart, in dB."""
    return max(abs(one - other) for one, other in contrasts(rules(), tables(), pair.first, pair.second, finding))


def asked_soon(pair: Confused) -> bool:
    """Return whether the separator, or one about as cheap that separates too, is among the first two questions."""
    order, queries = first_questions(chooser(pair))
    if pair.finding not in queries:
        return False
    most = queries[pair.finding].cost + ABOUT_AS_CHEAP_S
    return any(
        name == pair.finding or (queries[name].cost <= most and contrast(pair, name) >= ENOUGH_DB)
        for name in order[:FIRST]
    )


@pytest.mark.parametrize("pair", CONFUSED, ids="-".join)
def test_the_cheap_separator_of_a_confused_pair_can_be_asked_and_tells(pair: Confused) -> None:
    """Each separator is a question or check, and one of its answers moves the two causes apart by a moderate grade."""
    tells = rules().findings[pair.finding].ask is not None and _told_apart(pair)
    assert tells == (pair[:2] not in WEAK), round(contrast(pair, pair.finding), 1)


@pytest.mark.parametrize("names", WEAK, ids="-".join)
def test_where_the_separator_is_weak_an_earlier_question_tells(names: tuple[str, str]) -> None:
    """One of the first two questions moves the two causes apart by a moderate grade."""
    pair = next(pair for pair in CONFUSED if pair[:2] == names)
    order, _ = first_questions(chooser(pair))
    assert max(contrast(pair, name) for name in order[:FIRST]) >= ENOUGH_DB, order[:FIRST]


def _told_apart(pair: Confused) -> bool:
    needs = [
        {level for need in rules().causes[name].needs if need.finding == pair.finding for level in need.levels}
        for name in pair[:2]
    ]
    return contrast(pair, pair.finding) >= ENOUGH_DB or (all(needs) and needs[0].isdisjoint(needs[1]))


def test_between_two_equally_likely_causes_the_cheap_separator_is_asked_first() -> None:
    """With the complaints both bring known, the separator or one about as cheap is among the first two questions."""
    late = [pair for pair in CONFUSED if not asked_soon(pair)]
    assert {pair[:2] for pair in late} == set(NOT_ASKED_FIRST)


def test_every_cause_is_told_from_every_other_by_a_likely_answer() -> None:
    """For all causes of one complaint an answer likely under one of them moves the two apart by a moderate grade."""
    alike = sorted(_alike(rules()))
    assert alike == []


def _alike(base: RuleBase) -> Iterator[tuple[str, str, float]]:
    """Yield pairs of causes (or of roots) of one complaint that no likely answer separates."""
    answers = {
        name: [answer.levels for answer in spec.ask.answers] if spec.ask else [(level,) for level in spec.levels]
        for name, spec in base.findings.items()
    }
    shows = {
        cause: {show.finding: row(cause, cause, show.finding) for show in spec.shows}
        for cause, spec in base.causes.items()
    }
    for one, other in combinations(base.causes, 2):
        a, b = base.causes[one], base.causes[other]
        if (a.prior is None) != (b.prior is None) or not set(a.complaints) & set(b.complaints):
            continue
        best = 0.0
        for finding in sorted({*shows[one], *shows[other]}):
            usual = tables().bases[finding]
            rows = shows[one].get(finding, usual), shows[other].get(finding, usual)
            for levels in answers[finding]:
                chance = [sum(own[level] for level in levels) for own in rows]
                if max(chance) >= LIKELY:
                    best = max(best, abs(decibans(rows[0], usual, levels) - decibans(rows[1], usual, levels)))
            if best >= ENOUGH_DB:
                break
        if best < ENOUGH_DB:
            yield one, other, round(best, 1)
