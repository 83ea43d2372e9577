"""What the rule base shows of itself: the list, one card, the map; as text and as plain values."""

import json
from pathlib import Path

import pytest

from diagnose.rulebase import cards
from diagnose.rulebase.base import RuleBase
from diagnose.rulebase.loader import read_rules

COARSE_CARD = """\
grind_too_coarse: cause, causes/grinder/grind_too_coarse.yaml
Name          Grind too coarse
Because       Wide gaps let the water through, and it takes less along.
Source        made_up_table
Complaint     shot
How common    home very common, service common, training common
Moves         grind: coarser
Only if       ground_by is own_grinder
Shows         flow: gushing strong (+10 dB), fast moderate (+7 dB), slow very strong against (-15 dB)
                Wider gaps resist less.
                source: common_practice
              taste_lean: sour moderate (+7 dB), bitter slight against (-3 dB)
Roots         new_bag, 30% of the cases
Never with    dose_low
Cures         grind_finer, chance 85%
Check         dose
Like it       A low dose runs fast too.
Later         Write the setting on the bag.
Cautions      burr_fingers
Examples      hit (home, among the first 1): 16 s and sour
              near miss (service): 45 s and bitter"""

DOSE_CARD = """\
dose: finding, findings/shot/dose.yaml
Name          dose against the recipe
Complaint     shot
Levels        low: low (base 0.005)
              right: right (base 0.985, normal)
              high: high (base 0.01)
Read          low when dose_off is below -1 g
              right when dose_off is at least -1 and at most 1 g
              high when dose_off is above 1 g
Asked         check: Weigh the next dose. Is it what the recipe says?
                1 less (low)
                2 the same (right)
                3 more (high)
              takes 20 s and 1 g (home), 15 s (service)
              only if ground_by is own_grinder
              cautions: burr_fingers
Speaks of     dose_low: low decisive (+20 dB), high very strong against (-15 dB)
Source        common_practice
Referred to   in shows of cause dose_low (causes/grinder/dose_low.yaml:6)
              in check of cause grind_too_coarse (causes/grinder/grind_too_coarse.yaml:21)"""

FINER_CARD = """\
grind_finer: step, steps/grind_finer.yaml
Name          Grind finer
Kind          adjust, takes 90 s and 36 g (home), 60 s (service), 90 s (training)
Text          Grind {amount} finer, from {from} to {to}.
Because       Finer grounds resist more.
Moves         grind: finer
Size          grind_step
Hold          dose, yield
Expect        time
Confirms      flow is on_target
Only if       ground_by is own_grinder
Said as       ground finer
Cautions      burr_fingers
Source        common_practice
Referred to   in cures of cause dose_low (causes/grinder/dose_low.yaml:12)
              in cures of cause grind_too_coarse (causes/grinder/grind_too_coarse.yaml:20)"""

FIRE_CARD = """\
fire: notice, notices/fire.yaml
Text          STOP: switch off at the wall, and have a technician look.
Kind          stop: said before anything else
Given when    burning is present
Source        common_practice"""


@pytest.mark.parametrize(
    ("kind", "name", "card"),
    [
        ("causes", "grind_too_coarse", COARSE_CARD),
        ("findings", "dose", DOSE_CARD),
        ("steps", "grind_finer", FINER_CARD),
        ("notices", "fire", FIRE_CARD),
    ],
)
def test_a_card_says_what_the_file_says(good: RuleBase, kind: str, name: str, card: str) -> None:
    """Every key of the file is on the card in words, grades with their decibans, and who refers to it with the line."""
    assert cards.card_text(good, kind, name) == card


def test_a_root_and_a_compensation_are_marked(good: RuleBase) -> None:
    """A cause without prior counts only as a root, and a cure for today says so."""
    assert "How common    only as a root" in cards.card_text(good, "causes", "new_bag")
    assert "grind_finer, chance 30%, for today only" in cards.card_text(good, "causes", "dose_low")


def test_conditions_and_words_are_shown(good: RuleBase) -> None:
    """An entry under a condition says when it counts, and a level the phrases it is said by."""
    assert "  only when bean_age is above 60 days" in cards.card_text(good, "causes", "beans_stale")
    taste = cards.card_text(good, "findings", "taste_lean")
    assert "  said as: sour, lemon|lemony" in taste
    assert "Cluster       extraction" in taste
    assert "complaint when taste_lean is sour or bitter" in cards.card_text(good, "findings", "verdict")
    assert "time_ratio is below 0.6, and time_z is below -2 sigma" in cards.card_text(good, "findings", "flow")


def test_a_card_as_values_holds_file_evidence_and_references(good: RuleBase) -> None:
    """The dict is plain JSON and gives for each grade its decibans and the line it stands in."""
    card = json.loads(json.dumps(cards.card_dict(good, "findings", "flow")))
    assert (card["format"], card["kind"], card["id"], card["area"], card["name"]) == (
        1,
        "finding",
        "flow",
        "shot",
        "speed of the shot",
    )
    assert card["rule"]["levels"]["gushing"]["base"] == 0.02
    assert card["rule"]["read"][1]["when"][0] == {"measure": "time_ratio", "at_least": 0.6}
    assert card["evidence"][0] == {
        "cause": "dose_low",
        "finding": "flow",
        "level": "fast",
        "grade": "moderate",
        "decibans": 7.0,
        "file": "causes/grinder/dose_low.yaml",
        "line": 9,
    }
    assert {
        "kind": "step",
        "id": "grind_finer",
        "role": "confirms",
        "file": "steps/grind_finer.yaml",
        "line": 9,
    } in card["referred_to_by"]


def test_the_list_has_every_rule_once(good: RuleBase) -> None:
    """The list counts and names all rules, by kind and area; a notice shows the start of its text."""
    text = cards.list_text(good)
    assert text.startswith("4 causes, 8 findings, 4 steps, 2 notices, 1 source.\n\nCauses, beans (2)\n  beans_stale ")
    assert "\nSteps (4)\n" in text
    assert "  fire                           STOP: switch off at the wall" in text
    listed = json.loads(json.dumps(cards.list_dict(good)))
    assert listed["counts"] == {"causes": 4, "findings": 8, "steps": 4, "notices": 2, "sources": 1}
    assert [rule["id"] for rule in listed["rules"]][:4] == ["beans_stale", "new_bag", "dose_low", "grind_too_coarse"]
    assert all(text.count(f"\n  {rule['id']} ") == 1 for rule in listed["rules"])


def test_a_name_nearly_right_is_suggested(good: RuleBase) -> None:
    """Typing errors and hyphens lead to the rule meant; what is like nothing leads nowhere."""
    assert cards.nearest(good, "grind-too-course")[0] == "grind_too_coarse"
    assert cards.nearest(good, "qqqq") == []
    assert cards.find(good, "flow") == ["findings"]
    assert cards.find(good, "flo") == []


def test_the_map_has_a_page_for_each_complaint(good: RuleBase) -> None:
    """Signs: two for grades from strong on, one below, the exclamation mark for what a cause needs."""
    pages = cards.map_text(good).split("\n\n\n")
    assert [page.split()[0] for page in pages] == ["SHOT", "BREW"]
    assert pages[0].splitlines()[3:] == [
        "1 ground_by   2 onset   3 dose   4 flow   5 strength   6 taste_lean",
        "",
        "                                1  2  3  4  5  6",
        "beans_stale                     .  .  .  . ++  .",
        "new_bag                         . ++  .  .  .  .",
        "dose_low                        .  . ++  +  .  .",
        "grind_too_coarse                !  .  . ++  .  +",
    ]
    mapped = json.loads(json.dumps(cards.map_dict(good)))["complaints"]
    assert mapped["brew"] == {
        "causes": ["beans_stale"],
        "findings": ["strength"],
        "signs": {"beans_stale": {"strength": "++"}},
    }


def test_the_map_of_one_complaint_is_one_page(good: RuleBase) -> None:
    """A complaint without causes has no page."""
    assert cards.map_text(good, ["brew"]).startswith("BREW (causes: 1, findings: 1)")
    assert cards.map_text(good, ["milk"]) == ""
    assert cards.map_dict(good, ["milk"]) == {"format": 1, "complaints": {}}


def test_what_only_speaks_against_and_what_is_neutral_have_their_signs(folder: Path) -> None:
    """Against is one or two strokes by the strongest grade against, all neutral a nought."""
    low = folder / "causes/grinder/dose_low.yaml"
    text = low.read_text("utf-8").replace("low: decisive, high: very strong", "high: strong")
    text = text.replace("{fast: moderate}", "{slow: slight against}\n  - finding: onset\n    levels: {always: neutral}")
    low.write_text(text, "utf-8")
    base, problems = read_rules(folder)
    assert problems == []
    (row,) = [row for row in cards.map_text(base, ["shot"]).splitlines() if row.startswith("dose_low")]
    assert row.split() == ["dose_low", ".", "0", "--", "-", ".", "."]


def test_nothing_is_wider_than_120_columns(folder: Path) -> None:
    """Long texts are wrapped on cards and cut in the list, and a map with many findings goes on below."""
    shows = ""
    for number in range(40):
        name = f"finding_with_a_long_name_{number}"
        levels = "{a: {base: 0.5, name: {en: a}}, b: {base: 0.5, name: {en: b}}}"
        (folder / f"findings/kit/{name}.yaml").write_text(f"name: {{en: {'long ' * 40}}}\nlevels: {levels}\n", "utf-8")
        shows += f"  - finding: {name}\n    levels: {{a: slight}}\n"
    bag = folder / "causes/beans/new_bag.yaml"
    bag.write_text(bag.read_text("utf-8").replace("examples:", f"{shows}examples:"), "utf-8")
    base, problems = read_rules(folder)
    assert problems == []
    name = "finding_with_a_long_name_7"
    texts = [cards.list_text(base), cards.map_text(base), cards.card_text(base, "findings", name)]
    assert all(len(line) <= 120 for text in texts for line in text.splitlines())
    assert "..." in texts[0]
    assert sum(line.startswith("new_bag") for line in texts[1].splitlines()) == 2
    assert "40 finding_with_a_long_name_9" in texts[1]
