"""Answers to the open question: a number of the list, yes or no, "don't know", or the answer's own words."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from diagnose.language.scene import Draft, Scene
from diagnose.language.stems import expand, stem
from diagnose.model import Answer, NextStep

WHICH_ANSWER = "the question has no yes or no; which of the numbered answers?"
_TELLING_NOTHING = ("subjects", "copula", "articles", "plain_verbs")
_BESIDE_ALONE = ("subjects", "copula", "idle")  # "it is good" says no more than "good"
VERDICT = "verdict"  # the built-in finding: whether the person is content with the cup
_UNIT_WORDS = 3  # a number, its unit and a word such as "out"
_MOST_WORDS = 8  # a reply in an answer's own words is short


@dataclass(frozen=True, slots=True)
class Question:
    """The question that is open: its finding, its answers, and the measure that would answer it too."""

    finding: str
    answers: tuple[Answer, ...]
    measure: str = ""

    @property
    def has_yes_or_no(self) -> bool:
        """Tell whether its answers are a yes and a no."""
        return len(self.answers) == 2 and all(_polarity(answer) for answer in self.answers)

    def levels_with(self, levels: tuple[str, ...]) -> tuple[str, ...]:
        """Return the levels of the answer that holds `levels`, or these themselves where no single answer does."""
        fitting = [answer_.levels for answer_ in self.answers if set(levels) <= set(answer_.levels)]
        return fitting[0] if len(fitting) == 1 else levels


def question_of(pending: NextStep | None, measures: Mapping[str, str]) -> Question | None:
    """Return the open question of the last step, if it was one."""
    if pending is None or pending.kind not in {"question", "check"} or not pending.answers:
        return None
    finding = pending.finding or pending.id
    return Question(finding, pending.answers, measures.get(finding, ""))


def answer(scene: Scene, question: Question) -> Draft | None:
    """Return the answer the text begins with, claiming its words; None when it does not answer."""
    if not scene.size:
        shrug = scene.reading.text.strip() != "" and not scene.reading.text.strip(" ?\n")
        return _draft(question, (), 0, -1) if shrug else None
    return (
        _dont_know(scene, question)
        or _option(scene, question)
        or _exact(scene, question)
        or _alone(scene, question)
        or _yes_or_no(scene, question)
        or _own_words(scene, question)
    )


def _draft(question: Question, levels: tuple[str, ...], first: int, last: int) -> Draft:
    return Draft("answer", question.finding, first, last, levels, source="answered")


def _opening(scene: Scene) -> list[int]:
    """Return the places of the first clause, up to a word that begins another."""
    places: list[int] = []
    for place in range(scene.size):
        if not scene.reading.same_clause(0, place) or (places and scene.is_one_of(place, "clause_words")):
            break
        places.append(place)
    return places


def said_alone(scene: Scene) -> list[Draft]:
    """Return what a text says that is nothing but "good", "always" or the like, claiming its words."""
    for mark in scene.marked("alone"):
        name, _, level = mark.payload.value.partition(".")
        rest = [place for place in range(scene.size) if place not in mark.places]
        known = name in scene.lexicon.findings and level in scene.lexicon.findings[name].levels
        beside = all(any(scene.is_one_of(place, words) for words in _BESIDE_ALONE) for place in rest)
        if known and beside and not scene.reading.questions and not _is_greeting(scene):
            scene.claim(range(scene.size))
            return [Draft("observation", name, 0, scene.size - 1, (level,))]
    return []


def said_after_numbers(scene: Scene) -> list[Draft]:
    """Return the judgement at the end of a text, after its numbers (claimed by now): "36 out 28 s, good"."""
    for mark in scene.marked("alone"):
        name, _, level = mark.payload.value.partition(".")
        rest = range(mark.last + 1, scene.size)
        ends = all(any(scene.is_one_of(place, words) for words in _BESIDE_ALONE) for place in rest)
        before = range(max(mark.first - _UNIT_WORDS, 0), mark.first)
        numbers = any(scene.reading.items[place].kind in {"number", "pair"} for place in before)
        after = numbers and mark.first - 1 in scene.claimed
        free = mark.places.isdisjoint(scene.claimed) and after
        if name == VERDICT and ends and free and name in scene.lexicon.findings and not scene.reading.questions:
            scene.claim(mark.places)
            return [Draft("observation", name, mark.first, mark.last, (level,))]
    return []


def _is_greeting(scene: Scene) -> bool:
    """Tell whether the text only wishes a good morning."""
    return any(scene.is_one_of(place, "greetings") for place in range(1, scene.size))


def _alone(scene: Scene, question: Question) -> Draft | None:
    """Take what is said alone as the answer, where it speaks of the finding in question."""
    claimed = set(scene.claimed)
    for said in said_alone(scene):
        if said.name == question.finding:
            return _draft(question, question.levels_with(said.levels), said.first, said.last)
    scene.claimed = claimed
    return None


def _dont_know(scene: Scene, question: Question) -> Draft | None:
    opening = _opening(scene)
    own = {place for match in scene.phrases if match.payload.name == question.finding for place in match.places}
    for mark in scene.marked("reply", "dont_know"):
        if not own.isdisjoint(mark.places):
            continue  # "no scale" where the question is how the dose is set
        rest = [place for place in opening if place not in mark.places]
        if mark.last <= opening[-1] and all(_is_light(scene, place) for place in rest):
            scene.claim(opening)
            return _draft(question, (), opening[0], opening[-1])
    return None


def _is_light(scene: Scene, place: int) -> bool:
    """Tell whether a word adds nothing to a reply: "the", "one", "option", "sorry", "I"."""
    return any(scene.is_one_of(place, words) for words in ("option_words", "idle", "fillers", "subjects"))


def _option(scene: Scene, question: Question) -> Draft | None:
    """Take "2", "option 2", "the second one", "the last one" as the number of an answer."""
    opening = _opening(scene)
    heavy = [place for place in opening if not _is_light(scene, place)]
    if not heavy:
        # "one" alone is both a number and a light word.
        heavy = [place for place in opening if scene.reading.word(place) in scene.lexicon.numbers]
    phrased = any(
        match.payload.name == question.finding and len(match.places) > 1 and not match.places.isdisjoint(heavy)
        for match in scene.phrases
    )  # "only the first" says when it happens
    number = _option_number(scene, heavy[0], question) if len(heavy) == 1 and not phrased else None
    for answer_ in question.answers:
        if number == answer_.number:
            scene.claim(opening)
            return _draft(question, answer_.levels, opening[0], opening[-1])
    return None


def _option_number(scene: Scene, place: int, question: Question) -> int | None:
    item = scene.reading.items[place]
    if item.kind in {"number", "ordinal"}:
        return int(item.value) if item.value.is_integer() and item.value < 1000 else None
    if item.word in scene.lexicon.words("last_words"):
        return question.answers[-1].number
    for mark in scene.marked("shot"):
        if mark.first == place and mark.payload.value.isdigit():
            return int(mark.payload.value)
    ordinals = {word: number for number, word in enumerate(("first", "second", "third", "fourth", "fifth", "sixth"), 1)}
    if item.word in ordinals:
        return ordinals[item.word]
    value = scene.lexicon.numbers.get(item.word)
    return int(value) if value is not None else None


def _words_of(text: str) -> tuple[str, ...]:
    """Return the stems of an answer's text."""
    cleaned = "".join(character if character.isalnum() or character == "'" else " " for character in text.lower())
    return tuple(stem(part) for word in cleaned.split() for part in expand(word))


def _exact(scene: Scene, question: Question) -> Draft | None:
    """Take a reply that is one answer's text, or the part of it before a comma or colon."""
    opening = _opening(scene)
    said = tuple(scene.reading.items[place].stem for place in opening)
    everything = tuple(item.stem for item in scene.reading.items)
    for answer_ in question.answers:
        whole = _words_of(answer_.text)
        if everything == whole:
            scene.claim(range(scene.size))
            return _draft(question, answer_.levels, 0, scene.size - 1)
        pieces = {_words_of(piece) for piece in answer_.text.replace(":", ",").replace("(", ",").split(",")}
        if said in pieces:
            last = _echoed(scene, answer_, opening[-1])
            scene.claim(range(last + 1))
            return _draft(question, answer_.levels, 0, last)
    return _nearly_exact(scene, question, opening)


def _nearly_exact(scene: Scene, question: Question, opening: list[int]) -> Draft | None:
    """Take a reply that is one answer's text but for words of little weight: "neither really", "none" (to speak of)."""
    items = scene.reading.items
    said = [items[place].stem for place in opening if not scene.is_one_of(place, "reach")]
    fitting = [answer_ for answer_ in question.answers if list(_words_of(answer_.text)) == said]
    if scene.size == 1 and scene.is_one_of(0, "nothing_words"):
        fitting = [answer_ for answer_ in question.answers if _words_of(answer_.text)[:1] == (items[0].stem,)]
    if len(fitting) != 1 or not said:
        return None
    scene.claim(opening)
    return _draft(question, fitting[0].levels, opening[0], opening[-1])


def _polarity(answer_: Answer) -> str:
    """Return "yes" or "no" where an answer is one, by its first word or its only level."""
    first = (*_words_of(answer_.text), "")[0]
    if first in {"yes", "no"}:
        return first
    if answer_.levels in {("present",), ("yes",)}:
        return "yes"
    return "no" if answer_.levels in {("absent",), ("no",)} else ""


def _yes_or_no(scene: Scene, question: Question) -> Draft | None:
    replies = (mark for mark in scene.marked("reply") if mark.payload.value in {"yes", "no"})
    said = next((mark for mark in replies if mark.first == 0), None)
    if said is None or (said.payload.value == "no" and not _stands_alone(scene, said.last)):
        return None
    for answer_ in question.answers:
        if _polarity(answer_) == said.payload.value:
            last = _echoed(scene, answer_, said.last)
            scene.claim(range(last + 1))
            return _draft(question, answer_.levels, 0, last)
    if scene.size == said.last + 1:
        scene.refuse(0, said.last, WHICH_ANSWER)
    return None


def _echoed(scene: Scene, answer_: Answer, last: int) -> int:
    """Return the place up to which the words after a yes or no only say the answer's own: "no, it just boils"."""
    own = set(_words_of(answer_.text))
    echoed = last
    for place in range(last + 1, scene.size):
        if not scene.reading.same_sentence(last, place):
            break
        if scene.reading.items[place].stem in own and not scene.is_one_of(place, "reach"):
            echoed = place
        elif not (_is_light(scene, place) or scene.is_one_of(place, "reach") or scene.is_one_of(place, "clause_words")):
            break
    return echoed


def _stands_alone(scene: Scene, last: int) -> bool:
    """Tell whether "no" is a reply here, not the beginning of "no crema"."""
    following = last + 1
    return not scene.reading.same_clause(last, following) or any(
        scene.is_one_of(following, words) for words in ("subjects", "clause_words", "negators", "idle")
    )


def _own_words(scene: Scene, question: Question) -> Draft | None:
    """Take a short reply whose words occur in one answer and in no other."""
    opening = _opening(scene)
    phrased = {
        place
        for match in scene.phrases
        if match.payload.kind != "cause" and match.payload.name != question.finding
        for place in match.places
    }
    if len(opening) > _MOST_WORDS or any(match.payload.name == question.finding for match in scene.phrases):
        return None
    if any(scene.reading.items[place].kind != "word" or scene.is_one_of(place, "negators") for place in opening):
        return None
    free = [place for place in opening if place not in phrased]
    # Words of little weight count only where there are no others ("too much"), and those that tell nothing never.
    free = [place for place in free if not any(scene.is_one_of(place, words) for words in _TELLING_NOTHING)]
    heavy = [place for place in free if not _is_light(scene, place) and not scene.is_one_of(place, "reach")]
    if not heavy and phrased.isdisjoint(opening):
        heavy = free
    answered = _best(question.answers, {scene.reading.items[place].stem for place in heavy})
    if answered is None:
        return None
    scene.claim(opening)
    return _draft(question, answered.levels, opening[0], opening[-1])


def _best(answers: Sequence[Answer], said: set[str]) -> Answer | None:
    """Return the one answer that shares most words with the reply, counting only words no other answer has."""
    texts = [set(_words_of(answer_.text)) for answer_ in answers]
    shared = []
    for index, own in enumerate(texts):
        others = set().union(*(text for other, text in enumerate(texts) if other != index))
        shared.append(len(said & (own - others)))
    most = max(shared, default=0)
    return answers[shared.index(most)] if most and shared.count(most) == 1 else None
