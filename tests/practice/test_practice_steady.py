"""The simulated check by a command: figures, limits and exit codes, and that the product's own rules are tried."""

import json

import pytest

from diagnose.cli import main
from diagnose.conversation.outcome import Trial
from diagnose.practice import steady_command
from diagnose.practice.fixing import Bench
from diagnose.practice.steady import Process, keep_bar
from diagnose.practice.steady_command import Figure, fixed_figures, steady_figures
from diagnose.rulebase.base import RuleBase
from diagnose.sizing import grind

SHOTS, SEED = 600, 7


@pytest.fixture
def few(monkeypatch: pytest.MonkeyPatch) -> list[Figure]:
    """Let the command find two figures at once, instead of simulating; the test may change them."""
    figures = [Figure("adjusted", 0.01, high=0.05), Figure("true", 0.98, low=0.97)]
    monkeypatch.setattr(steady_command, "steady_figures", lambda *_: figures[:1])
    monkeypatch.setattr(steady_command, "fixed_figures", lambda *_: figures[1:])
    return figures


def test_all_met_is_exit_code_0(few: list[Figure], capsys: pytest.CaptureFixture[str]) -> None:
    """Each line has the figure, its limit and whether it is met."""
    assert main(["practice", "steady"]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert [line.split() for line in lines] == [
        ["adjusted", "0.010", "at", "most", "0.05", "met"],
        ["true", "0.980", "at", "least", "0.97", "met"],
    ]
    assert len(few) == len(lines)


@pytest.mark.parametrize(("place", "value"), [(0, 0.051), (1, 0.969)])
def test_one_missed_is_exit_code_1(
    few: list[Figure], capsys: pytest.CaptureFixture[str], place: int, value: float
) -> None:
    """Above the highest or below the lowest value is missed, in words and in JSON."""
    old = few[place]
    few[place] = Figure(old.what, value, old.low, old.high)
    assert main(["practice", "steady"]) == 1
    assert capsys.readouterr().out.count("MISSED") == 1
    assert main(["practice", "steady", "--json", "--shots", "700", "--seed", "3"]) == 1
    answer = json.loads(capsys.readouterr().out)
    assert (answer["format"], answer["shots"], answer["seed"], answer["met"]) == (1, 700, 3, False)
    assert [figure["met"] for figure in answer["figures"]] == [number != place for number in (0, 1)]
    assert set(answer["figures"][0]) == {"what", "value", "limit", "met"}


@pytest.mark.parametrize("shots", ["599", "1000001", "-1", "many"])
def test_too_few_or_too_many_shots_are_refused(shots: str, capsys: pytest.CaptureFixture[str]) -> None:
    """Exit code 2, and the range is named."""
    assert main(["practice", "steady", "--shots", shots]) == 2
    assert "600 to 1000000" in capsys.readouterr().err


def test_a_limit_itself_is_met() -> None:
    """At most 5 % includes 5 %."""
    assert Figure("a", 0.05, high=0.05).met
    assert Figure("a", 0.97, low=0.97).met


def test_a_steady_process_keeps_its_limits(rules: RuleBase) -> None:
    """At most 5 % adjusted and variance at most 1.10 times, over scatters of 1.8 to 3.2 s and dials fine and coarse."""
    figures = list(steady_figures(rules, 1800, SEED))
    assert [figure.high for figure in figures] == [0.05, 1.10]
    assert all(figure.met for figure in figures)


def test_the_limits_of_fixed_are_those_promised(rules: RuleBase) -> None:
    """At least 97 % true in at most 4.5 shots, at 2, 2.5 and 3 sigma; each by both rules."""
    figures = list(fixed_figures(rules, SHOTS, SEED))
    assert len(figures) == 12
    assert {figure.low for figure in figures[::2]} == {0.97}
    assert {figure.high for figure in figures[1::2]} == {4.5}


def test_the_same_seed_draws_the_same_shots(rules: RuleBase) -> None:
    """Figures can be repeated, and another seed gives others."""
    one, again, other = (keep_bar(rules, Process(2.5, 3.0), bars=3, seed=seed) for seed in (1, 1, 2))
    assert one == again
    assert one != other


def test_it_is_the_products_own_dead_band_that_is_tried(rules: RuleBase, monkeypatch: pytest.MonkeyPatch) -> None:
    """With the product's dead band gone, the simulation shows it: nearly every shot is adjusted."""
    monkeypatch.setattr(grind, "decide", lambda _: "adjust")
    monkeypatch.setattr(grind, "LEAST_NOTCH", 0.0)
    assert keep_bar(rules, Process(2.5, 3.0), bars=2).triggered > 0.9


def test_it_is_the_products_own_verdict_that_declares(rules: RuleBase) -> None:
    """After 14 s and a step, 27 s twice is declared fixed; 27 s once is not, and another 14 s has failed."""
    bench = Bench(rules)
    trial = Trial(*bench.advised(14))
    assert trial.step.variable == "grind"
    assert [bench.judged(trial, 14, *since)[1].proven for since in ((27,), (27, 28), (14,))] == [0, 2, 0]
    assert bench.judged(trial, 14, 14)[0].failed == trial.step.id


def test_going_past_the_target_is_no_cure(rules: RuleBase) -> None:
    """From 14 s to 40 s the step worked and went too far; nothing is declared."""
    bench = Bench(rules)
    outcome, after = bench.judged(Trial(*bench.advised(14)), 14, 40)
    assert outcome.overshot
    assert not after.holds
