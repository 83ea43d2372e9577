"""The lexicon: what it takes from the rules, how words are put right, and what it costs to import."""

import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import pytest

from diagnose.language import Lexicon, spelling, understand
from diagnose.language.phrases import Compiler, PhraseBook
from diagnose.language.reading import read
from diagnose.language.stems import expand, stem
from diagnose.rulebase.checks import unknown_belief
from diagnose.rulebase.loader import read_rules
from tests.language.helpers import RULES, lexicon, own_rules, small_rules, written


def places(phrase: str, text: str, fillers: str = "") -> list[tuple[tuple[int, ...], ...]]:
    """Return where a phrase stands in a text."""
    book = PhraseBook[str](frozenset(fillers.split()), Compiler({"body": ("hand", "left-arm")}))
    book.add(phrase, "")
    return [match.parts for match in book.find(read(text, stem))]


@pytest.mark.parametrize(
    ("phrase", "text", "found"),
    [
        ("thin crema", "a thin crema", [((1, 2),)]),
        ("thin crema", "crema is thin", []),
        ("thin crema", "thin, crema", []),
        ("crema + thin", "thin and pale crema", [((3,), (0,))]),
        ("crema + thin", "the crema is fine. thin milk", []),
        ("thin|pale crema", "pale crema, thin crema", [((0, 1),), ((2, 3),)]),
        ("gushes", "it gushed", [((1,),)]),
        ("over-extracted", "over extracted, over-extracted", [((0, 1),), ((2, 3),)]),
        ("isn't right", "it is not right", [((1, 2, 3),)]),
        ("smell + burnt - coffee", "the coffee smells burnt", []),
        ("smell + burnt - coffee", "something in there smells burnt, and then the coffee", [((3,), (4,))]),
        ("burnt <body>", "burnt hand, burnt left arm", [((0, 1),), ((2, 3, 4),)]),
        ("- coffee", "coffee", []),
    ],
)
def test_the_phrase_language(phrase: str, text: str, found: list[tuple[tuple[int, ...], ...]]) -> None:
    """Sequences, choices, parts in any order, forbidden words and word groups are found where they stand."""
    assert places(phrase, text) == found


def test_words_of_little_weight_and_numbers_may_stand_inside_a_phrase() -> None:
    """Fillers are passed over within a clause, but not across more than three of them."""
    assert places("tastes great", "tastes really so great", "really so") == [((0, 3),)]
    assert places("went finer", "went 2 finer", "really") == [((0, 2),)]
    assert places("tastes great", "tastes so so so so so great", "so") == []


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("gushes", "gushing"), ("drips", "dripping"), ("dripped", "drip"), ("tastes", "tasted"), ("berries", "berry"),
        ("tried", "try"), ("glass", "glasses"), ("choked", "choking"), ("smelling", "smell"), ("spouts", "spout"),
    ],
)  # fmt: skip
def test_forms_of_one_word_have_one_stem(one: str, other: str) -> None:
    """Number, person and tense make no difference."""
    assert stem(one) == stem(other)


@pytest.mark.parametrize(("one", "other"), [("sour", "sourness"), ("gas", "gauge"), ("this", "thin"), ("speed", "spe")])
def test_different_words_keep_different_stems(one: str, other: str) -> None:
    """Stemming is light: what means something else stays something else."""
    assert stem(one) != stem(other)


def test_contractions_are_read_as_the_words_they_stand_for() -> None:
    """With and without apostrophe."""
    assert [expand(word) for word in ("isn't", "cant", "it's", "i've", "o'clock")] == [
        ("is", "not"), ("can", "not"), ("it", "is"), ("i", "have"), ("oclock",),
    ]  # fmt: skip


def test_a_slip_is_put_right_only_towards_words_of_the_lexicon() -> None:
    """One wrong letter from five letters on, two from eight on; never for ordinary words."""
    spell = lexicon().speller()
    assert [spell(word) for word in ("bittr", "sprouts", "evennly", "chaneling", "souuuur", "bitterish")] == [
        stem(word) for word in ("bitter", "spouts", "evennly", "channeling", "sour", "bitter")
    ]
    assert [spell(word) for word in ("better", "shop", "butter", "whether")] == [
        stem(word) for word in ("better", "shop", "butter", "whether")
    ]


def test_ordinary_words_that_look_like_words_of_the_trade_are_left_alone() -> None:
    """No listed ordinary word is taken for another."""
    spell = lexicon().speller()
    text = Path(spelling.__file__).with_name("ordinary_en.txt").read_text(encoding="utf-8")
    words = [word for line in text.splitlines() if not line.startswith("#") for word in line.split()]
    assert {stem(word) for word in words} == spelling.ordinary_words()
    assert [word for word in words if spell(word) != stem(word)] == []


def test_a_text_in_another_language_is_not_bent_into_english() -> None:
    """A text of many unknown words is taken as it is, after the first two hundred."""
    spell = lexicon().speller()
    unknown = [f"zq{chr(97 + number // 26)}{chr(97 + number % 26)}xxbitte" for number in range(250)]
    assert [spell(word) for word in unknown] == [stem(word) for word in unknown]
    assert spell("bittre") == stem("bittre")


def test_rules_without_general_words_still_give_their_phrases() -> None:
    """A rule base with no words file for the language is read with its own phrases alone."""
    bare = Lexicon.from_rules(replace(small_rules(), words={}))
    assert written(understand("it gushes", bare)) == "flow gushing #1"


def test_the_words_of_a_language_may_stand_in_several_files(tmp_path: Path) -> None:
    """The files of a language are read as one; what stands in two of them is a problem at the second place."""
    (tmp_path / "words/en").mkdir(parents=True)
    (tmp_path / "words/en.yaml").write_text("marks:\n  reply:\n    done: [done]\n", "utf-8")
    (tmp_path / "words/en/more.yaml").write_text("marks:\n  reply:\n    'yes': [yes]\n    done: [did it]\n", "utf-8")
    base, problems = read_rules(tmp_path)
    assert base.words["en"] == {"marks": {"reply": {"done": ["done"], "yes": ["yes"]}}}
    (problem,) = (one for one in problems if one.file.startswith("words/"))
    assert (problem.file, problem.line, problem.column, problem.code) == ("words/en/more.yaml", 4, 5, "duplicate-key")


def test_a_belief_about_nothing_is_found_in_the_file_it_stands_in(tmp_path: Path) -> None:
    """The check names the file of a language's folder, not the one that happens to be read first."""
    (tmp_path / "words/en").mkdir(parents=True)
    (tmp_path / "words/en.yaml").write_text("sets: {}\n", "utf-8")
    (tmp_path / "words/en/beliefs.yaml").write_text("beliefs:\n  nothing_known: [moon]\n", "utf-8")
    (problem,) = unknown_belief.check(read_rules(tmp_path)[0])
    assert (problem.file, problem.line, problem.column) == ("words/en/beliefs.yaml", 2, 3)


def test_no_words_file_is_longer_than_a_hundred_lines() -> None:
    """A file for one topic can be seen at once."""
    files = sorted((RULES / "words").rglob("*.yaml"))
    assert len(files) > 5
    assert [file.name for file in files if len(file.read_text("utf-8").splitlines()) > 100] == []


def test_another_language_than_the_rules_have_understands_nothing() -> None:
    """No phrase is taken from a language that was not asked for."""
    assert understand("it gushes", Lexicon.from_rules(small_rules(), "xx")).statements == ()


def test_a_question_is_answered_by_the_measure_its_rules_test() -> None:
    """A finding read from a computed number is answered by the number a person would give."""
    assert (lexicon().answers_by["flow"], lexicon().answers_by["dose"]) == ("time", "dose")


def test_every_phrase_of_the_program_is_found_in_itself() -> None:
    """A phrase without parts, groups or choices is recognised, as what it stands for, when typed as it is written."""
    own = Lexicon.from_rules(own_rules())
    plain = [
        (text, meaning)
        for text, meaning in own.meanings.phrases
        if meaning.kind != "cause" and not set("+|<") & set(text) and " - " not in text
    ]
    assert len(plain) > 500
    lost = [
        text
        for text, meaning in plain
        if all(match.payload != meaning for match in own.meanings.find(read(text.lower(), own.speller())))
    ]
    assert lost == []


def test_imports_stay_light() -> None:
    """Neither importing the room nor reading a text of known words loads the spelling library."""
    code = (
        "import sys; from diagnose.language import Lexicon, understand;"
        "from diagnose.rulebase.loader import read_rules; from diagnose.rulebase.location import rules_folder;"
        "words = Lexicon.from_rules(read_rules(rules_folder())[0]);"
        "understand('18 g in, 44 out in 16 s, sour', words);"
        "print('rapidfuzz' in sys.modules, 'numpy' in sys.modules)"
    )
    result = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert result.stdout.strip() == "False False"
