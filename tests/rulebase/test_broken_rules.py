"""Each check finds its fault: one edit to the good rule base, and the code, line and column it must be reported at."""

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import pytest

from diagnose.errors import Problem
from diagnose.rulebase.checks import CHECKS, everything
from diagnose.rulebase.loader import read_rules

FLOW, DOSE, TASTE = "findings/shot/flow.yaml", "findings/shot/dose.yaml", "findings/shot/taste_lean.yaml"
STRENGTH, GROUND, ONSET = "findings/shot/strength.yaml", "findings/kit/ground_by.yaml", "findings/kit/onset.yaml"
COARSE, LOW = "causes/grinder/grind_too_coarse.yaml", "causes/grinder/dose_low.yaml"
STALE, BAG = "causes/beans/beans_stale.yaml", "causes/beans/new_bag.yaml"
FINER, DOSE_UP, FRESH = "steps/grind_finer.yaml", "steps/dose_up.yaml", "steps/fresh_beans.yaml"
BURNING, FINGERS = "notices/burning.yaml", "notices/burr_fingers.yaml"


@dataclass(frozen=True)
class Broken:
    """One edit (`old` to `new` in `file`) and where its problem stands; `says` is part of the message."""

    code: str
    file: str
    old: str
    new: str
    line: int
    column: int
    says: str
    at: str = ""

    def __str__(self) -> str:
        return f"{self.code}: {self.says}"


TWIN = """\
name: {en: Just as old}
prior: {home: rare, service: rare, training: rare}
because: {en: For the test.}
source: common_practice
shows:
  - finding: strength
    levels: {weak: slight}
    applies_when: [{measure: bean_age, above: 30}]
  - finding: strength
    levels: {weak: strong}
    applies_when: [{measure: bean_age, above: 60}]
examples: {hits: [{say: old}], misses: [{say: new}]}
"""

UNKNOWN = [
    Broken("unknown-name", COARSE, "finding: flow", "finding: flwo", 11, 5, "Did you mean 'flow'?"),
    Broken("unknown-name", COARSE, "finding: flow", "finding: zzz", 11, 5, "or write rules/findings/<area>/zzz.yaml"),
    Broken("unknown-name", COARSE, "gushing: strong", "gushin: strong", 12, 14, "Did you mean 'gushing'?"),
    Broken("unknown-name", COARSE, "gushing: strong", "zzz: strong", 12, 14, "levels are: gushing, fast, on_target, slow"),
    Broken("unknown-name", COARSE, "is: [own_grinder]", "is: [own_grindr]", 9, 37, "Did you mean 'own_grinder'?"),
    Broken("unknown-name", COARSE, "excludes: [dose_low]", "excludes: [dose_lo]", 8, 12, "no cause 'dose_lo'"),
    Broken("unknown-name", COARSE, "cause: new_bag", "cause: newbag", 18, 6, "no cause 'newbag'"),
    Broken("unknown-name", COARSE, "step: grind_finer", "step: grind_fine", 20, 6, "no step 'grind_fine'"),
    Broken("unknown-name", COARSE, "check: dose", "check: dosis", 21, 1, "no finding 'dosis'"),
    Broken("unknown-name", COARSE, "[burr_fingers]", "[burr_finger]", 24, 12, "no notice 'burr_finger'"),
    Broken("unknown-name", COARSE, "source: made_up_table", "source: made_up", 5, 1, "no source 'made_up'"),
    Broken("unknown-name", COARSE, "source: common_practice", "source: common", 14, 5, "no source 'common'"),
    Broken("unknown-name", STALE, "measure: bean_age, above: 60", "finding: bag, is: old", 9, 21, "no finding 'bag'"),
    Broken("unknown-name", FLOW, "normal: on_target", "normal: on_time", 3, 1, "no level 'on_time'"),
    Broken("unknown-name", FLOW, "hedged: fast", "hedged: quick", 7, 74, "no level 'quick'"),
    Broken("unknown-name", FLOW, "- level: slow", "- level: slower", 18, 5, "no level 'slower'"),
    Broken("unknown-name", STRENGTH, "extraction", "extracton", 2, 1, "Did you mean 'extraction'?"),
    Broken("unknown-name", DOSE, "levels: [low]", "levels: [low, lower]", 22, 44, "no level 'lower'"),
    Broken("unknown-name", DOSE, "is: own_grinder", "is: grinder", 19, 33, "Did you mean 'own_grinder'?"),
    Broken("unknown-name", DOSE, "[burr_fingers]", "[fingers]", 20, 14, "no notice 'fingers'"),
    Broken("unknown-name", FINER, "hold: [dose, yield]", "hold: [dose, yeild]", 7, 14, "Did you mean 'yield'?"),
    Broken("unknown-name", FINER, "hold: [dose, yield]", "hold: [dose, qqq]", 7, 14, "Known: dose, yield"),
    Broken("unknown-name", FINER, "confirms: {flow:", "confirms: {flwo:", 9, 12, "no finding 'flwo'"),
    Broken("unknown-name", FINER, "flow: on_target", "flow: on_time", 9, 12, "no level 'on_time'"),
    Broken("unknown-name", FINER, "direction: finer", "direction: smaller", 4, 1, "Write one of: finer, coarser."),
    Broken("unknown-name", FINER, "variable: grind\n", "", 3, 1, "Add `variable`, or remove `direction`."),
    Broken("unknown-name", FINER, "{amount}", "{amout}", 11, 8, "{amout} is not a field"),
    Broken("unknown-name", FINER, "{amount}", "{amount", 11, 8, "a brace in this text is opened or closed alone"),
    Broken("unknown-name", BURNING, "is: present", "is: there", 2, 27, "no level 'there'"),
    Broken("unknown-name", BURNING, "text:", "source: nowhere\ntext:", 3, 1, "no source 'nowhere'"),
]

SUMS_AND_GRADES = [
    Broken("base-sum", FLOW, "base: 0.80", "base: 0.82", 6, 1, "sum to 1.02, not 1. Set the base of on_target to 0.8,"),
    Broken("base-sum", ONSET, "base: 0.95", "base: 0.75", 2, 1, "sum to 0.8, not 1. Set the base of always to 0.95"),
    Broken("base-sum", ONSET, "new_bag: {base: 0.05", "a: {base: 0.98, name: {en: a}}\n  new_bag: {base: 0.97", 2, 1, "Lower"),
    Broken("incoherent-grades", COARSE, "sour: moderate", "sour: very strong", 16, 14, "'moderate'"),
    Broken("incoherent-grades", COARSE, "{sour: moderate, bitter: slight against}", "{balanced: slight}", 16, 14, "'neutral'"),
    Broken("incoherent-grades", COARSE, "{sour: moderate, bitter", "{balanced: neutral, sour: moderate, bitter", 16, 5, "(balanced)"),
    Broken("incoherent-grades", ONSET, "new_bag: {base: 0.05", "new_bag: {base: 0.5", 8, 14, "grade that fits on it is 'neutral'", BAG),
    Broken("decisive-grade", COARSE, "bitter: slight against", "bitter: decisive against", 16, 30, "'very strong against'"),
    Broken("decisive-grade", ONSET, "new_bag: {base: 0.05", "new_bag: {base: 0.005", 8, 14, "Write 'very strong'", BAG),
]
