"""The talks in transcripts_demo: answered word by word as they are written, and showing what the trade expects.

What a talk must show stands in its own front part and is never rewritten by the tool: which cause comes first, what is
to be done, how many questions that may take. These are the expectations of the trade (common practice, no source).
"""

from pathlib import Path

import pytest

from diagnose.practice.reading import read
from diagnose.practice.replaying import Replay, replay
from diagnose.practice.transcript import text_of
from diagnose.rulebase.base import RuleBase

FOLDER = Path(__file__).parent.parent.parent / "transcripts_demo"
TALKS = sorted(FOLDER.glob("*.md"))


@pytest.fixture(scope="module")
def replays(rules: RuleBase) -> dict[str, Replay]:
    """Return what came of replaying each talk, by the name of its file."""
    return {path.name: replay(read(text_of(path), path.name), rules) for path in TALKS}


@pytest.mark.parametrize("name", [path.name for path in TALKS])
def test_a_talk_is_answered_as_it_is_written(replays: dict[str, Replay], name: str) -> None:
    """Same words, same lines, at the width and the time the talk gives; `diagnose replay --rewrite` writes new ones."""
    assert replays[name].diff == ""


@pytest.mark.parametrize("name", [path.name for path in TALKS])
def test_a_talk_shows_what_it_must(replays: dict[str, Replay], name: str) -> None:
    """Causes, steps, verdicts, rules and the number of questions are as expected, whatever the wording."""
    assert [f"{one.expectation}; found {one.found}" for one in replays[name].missed] == []


def test_the_talks_cover_settings_and_ends(replays: dict[str, Replay]) -> None:
    """Every setting has a talk, every talk says what the first step must be, and both ways to end are shown."""
    assert len(replays) >= 8
    assert {done.transcript.setting for done in replays.values()} == {"home", "service", "training"}
    expected = {name: done.transcript.expectations for name, done in replays.items()}
    for name, wanted in expected.items():
        assert any((one.turn, one.key) == (1, "step") for one in wanted), name
    assert {"accept accept", "hand_over hand_over"} <= {one.wanted for wanted in expected.values() for one in wanted}
