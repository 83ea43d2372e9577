"""Dangers are read from the words before anything else: all of the table's phrasings, none of the near misses."""

import pytest

from diagnose.language import understand
from tests.language.helpers import lexicon, own_rules, table

PHRASES = table("danger_phrases")
CAUGHT = [(finding, say) for finding, says in dict(PHRASES["caught"]).items() for say in says]
DANGERS = {name for name in own_rules().findings if own_rules().areas[name] == "danger"}
SILENT = list(PHRASES["silent"])


def dangers(say: str) -> set[str]:
    """Return the dangers a text brings up."""
    observed = (said for said in understand(say, lexicon()).statements if said.kind == "observation")
    return {said.name for said in observed if said.name in DANGERS and "present" in said.levels}


@pytest.mark.parametrize(("finding", "say"), CAUGHT)
def test_a_danger_is_caught_however_it_is_typed(finding: str, say: str) -> None:
    """Hurried, misspelt, in the third person, doubted or long past: a danger is never lost."""
    assert finding in dangers(say)


@pytest.mark.parametrize("say", SILENT)
def test_what_only_sounds_like_danger_raises_no_alarm(say: str) -> None:
    """Burnt tastes, hot cups, degassing beans and denied dangers bring up none."""
    assert dangers(say) == set()


@pytest.mark.parametrize(
    "say",
    [
        "is that gas i smell?",
        "i think it might be leaking gas",
        "because it gave me a shock",
        "what if there is a smell of gas",
        "it no longer smells of gas",
        "i'm not getting shocked by the machine any more",
        "18 in 36 out 27 s, recipe 18 in 36 out, ground finer no change, oh and it smells of gas",
        "no, 27 not 17, and my hand is burnt",
    ],
)
def test_neither_doubt_nor_question_nor_command_hides_a_danger(say: str) -> None:
    """Theories, questions, corrections and commands may be set aside; what could hurt somebody is not."""
    assert dangers(say)


@pytest.mark.parametrize("before", ["sour and bitter " * 1000, "it runs slowly. " * 20_000, "x" * 12_000 + " "])
def test_a_danger_is_found_beyond_the_part_that_is_read(before: str) -> None:
    """Only dangers are looked for in the rest of a long text, and a denied one there raises nothing."""
    assert dangers(before + "now it smells of gas") == {"gas_smell"}
    assert dangers(before + "no smell of gas") == set()
    assert dangers("no smell of gas. " + before + "now it smells of gas") == {"gas_smell"}


def test_a_denied_danger_is_heard_as_absent() -> None:
    """Denying a danger ("no burning smell") says that there is none."""
    (said,) = understand("no burning smell", lexicon()).statements
    assert (said.name, said.levels, said.negated) == ("burning", ("absent",), True)


def test_every_danger_has_a_stop_notice_that_comes_up_with_it() -> None:
    """Each danger finding has the levels present and absent, and exactly one stop notice of its own."""
    base = own_rules()
    found = {name for name in base.findings if base.areas[name] == "danger"}
    assert len(found) >= 15
    assert all(set(base.findings[name].levels) == {"present", "absent"} for name in found)
    stops = [notice for notice in base.notices.values() if notice.severity == "stop"]
    tested = [(test.finding, test.levels) for notice in stops for test in notice.when if test.finding in found]
    assert sorted(tested) == sorted((name, ("present",)) for name in found)


@pytest.mark.parametrize(
    ("notice", "first_aid"),
    [
        # Cool running water for 20 minutes: European Resuscitation Council Guidelines 2021, First aid (from memory).
        ("skin_burn", "cool running water for 20 minutes"),
        # Rinse for 15 minutes and longer; no vomiting: as on safety data sheets of alkaline detergents and acid
        # descalers (common practice, from memory).
        ("chemical_on_body", "at least 15 minutes"),
        ("chemical_swallowed", "do not make them vomit"),
        ("allergic_reaction", "emergency number now"),
        ("gas", "no switch or plug"),
        ("electric_shock", "do not touch them"),
        # Ring for chest pain, out into fresh air, press on a bleeding wound: general first-aid knowledge, from memory.
        ("heart_help", "call the emergency number now"),
        ("monoxide_out", "out into fresh air now"),
        ("cut_or_crushed", "power off"),
    ],
)
def test_the_notice_puts_first_aid_first(notice: str, first_aid: str) -> None:
    """The first sentences of a stop notice say what to do for the person, in words a frightened reader can follow."""
    text = own_rules().notices[notice].text["en"]
    assert text.startswith("STOP: ")
    assert any(first_aid in sentence for sentence in text.split(". ")[:3])
    assert len(text) < 500
