"""One utterance to its meaning, given what can be said now.

Where the ear gives other texts besides the likeliest, `hypotheses` says what they mean together. Of one text the
order is: danger; whether it is for us; the gate's sentence, exactly; the answer waited for;
commands, exactly; topics; free words; near misses of harmless commands. A sentence is never
matched nearly, and neither is anything else that counts.
"""

from __future__ import annotations

from dataclasses import replace

from intents.answers import chosen_option, expected_answer, free_words, wrong_kind
from intents.as_typed import as_typed
from intents.canonical import canonical
from intents.danger import danger_word
from intents.hypotheses import among
from intents.meaning import AskBack, Heard, Meaning, NotForUs, Sayable, Understood
from intents.near import near_choice, nearly
from intents.phrasebook import Phrasebook
from intents.questions import asked_about
from intents.quoted import quoted
from intents.sentences import named_topics

_LONGEST = 60  # words of anything but a note
_FILLERS = frozenset(("um", "uh", "er", "erm", "ah", "please", "well"))
_THANKS = (("thank", "you"), ("thanks",))
# What recognisers write when there was only noise; a lone 'oh' is nothing.
_NOISE = frozenset(
    ("oh", "o", "ah", "um", "uh", "hmm", "you", "the", "so", "and", "a", "thank you", "thanks", "bye", "bye bye",
     "thanks for watching", "thank you for watching", "thank you very much")
)  # fmt: skip


def understand(heard: Heard, sayable: Sayable, book: Phrasebook) -> Understood:
    """What was meant, a question back, or why it was dropped. Verification is left to the core."""
    if heard.way == "voice" and heard.scores:
        found = among(heard, lambda one: _understand(one, sayable, book, nearly_too=False))
        if found is not None:
            return _without_our_name(found, sayable)
    return _understand(heard, sayable, book, nearly_too=True)


def _without_our_name(found: Understood, sayable: Sayable) -> Understood:
    if not isinstance(found, AskBack):
        return found
    question, options = found.question, []
    for one in found.options:
        options.append(replace(one, said=quoted(one.said, sayable.callsign)))
        question = question.replace(f"'{one.said}'", f"'{options[-1].said}'")
    return AskBack(question, tuple(options))


def _understand(heard: Heard, sayable: Sayable, book: Phrasebook, *, nearly_too: bool) -> Understood:
    """Of the likeliest text alone. nearly_too: with near misses and what could have been meant."""
    if word := danger_word(heard.text, canonical(sayable.callsign or "")):
        return Meaning("danger", value=word, said=heard.text)
    words = canonical(heard.text).split()
    called = _after_callsign(words, heard, sayable)
    if called is None:
        return NotForUs("no callsign" if words else "nothing")
    spoken = " ".join(called)
    if not spoken or (heard.way == "voice" and spoken in _NOISE):
        return NotForUs("nothing")
    # Words before the callsign could turn a sentence round ('do not say ...').
    whole = len(called) in (len(words), len(words) - len(canonical(sayable.callsign or "").split()))
    if (sentence := _sentence(spoken, heard, sayable, whole=whole)) is not None:
        return sentence
    spoken = spoken if book.find(spoken) else _without_fillers(called)
    return _answer(spoken, heard, sayable, book, nearly_too=nearly_too)


def _answer(spoken: str, heard: Heard, sayable: Sayable, book: Phrasebook, *, nearly_too: bool) -> Understood:
    if len(spoken.split()) > _LONGEST:
        return _told_at_length(spoken, heard, sayable, book)
    by_voice = heard.way == "voice"
    option = chosen_option(spoken, sayable, book)
    if option is not None:
        return option
    answer = expected_answer(spoken, sayable, book, by_voice=by_voice)
    if answer is not None:
        return answer
    found = book.find(spoken)
    if found is not None:
        command, slot = found
        if command in sayable.commands:
            return Meaning(
                command, value=None if slot is None else as_typed(heard.text, slot), said=heard.text
            )
        if sayable.expected is None or sayable.expected.kind != "text":
            return NotForUs("not sayable")
    name = book.questions.get(spoken)
    if name is not None and any(topic.slot == name for topic in sayable.topics):
        return Meaning("ask_value", name, said=spoken)
    topic = named_topics(spoken, sayable, book, by_voice=by_voice)
    if topic is not None:
        return topic
    words = free_words(spoken, heard.text, sayable)
    if words is not None:
        return words
    if not nearly_too:
        return NotForUs("not sayable")
    near = nearly(spoken, sayable, book)
    if isinstance(near, NotForUs):
        name = asked_about(spoken, frozenset(topic.slot for topic in sayable.topics), book)
        if name is not None:
            return Meaning("ask_value", name, said=spoken)
    if isinstance(near, NotForUs) and sayable.expected is not None:
        return near_choice(spoken, sayable.expected) or wrong_kind(spoken, sayable.expected) or near
    return near


def _command(spoken: str, heard: Heard, sayable: Sayable, book: Phrasebook) -> Meaning | NotForUs | None:
    found = book.find(spoken)
    if found is None:
        return None
    command, slot = found
    if command in sayable.commands:
        return Meaning(command, value=None if slot is None else as_typed(heard.text, slot), said=heard.text)
    if sayable.expected is not None and sayable.expected.kind == "text":
        return None
    return NotForUs("not sayable")


def _told_at_length(spoken: str, heard: Heard, sayable: Sayable, book: Phrasebook) -> Understood:
    """A note or free words; nothing else is so long."""
    command = _command(spoken, heard, sayable, book)
    return command or free_words(spoken, heard.text, sayable) or NotForUs("not sayable")


def _after_callsign(words: list[str], heard: Heard, sayable: Sayable) -> list[str] | None:
    """The words for us; None where the callsign was needed and not said."""
    call = canonical(sayable.callsign or "").split()
    if not call:
        return words
    needed = heard.way == "voice" and not 0.0 <= heard.began_s - sayable.asked_s <= sayable.open_for_s
    places = range(len(words) - len(call) + 1) if needed else range(min(1, len(words)))
    for at in places:
        if words[at : at + len(call)] == call:
            return words[at + len(call) :]
    return None if needed else words


def _sentence(spoken: str, heard: Heard, sayable: Sayable, *, whole: bool) -> Meaning | None:
    if heard.way == "key" or not whole:
        return None
    for sentence in (sayable.sentence, *sayable.sentences_before):
        if sentence is not None and spoken == canonical(sentence):
            return Meaning("sentence", value=sentence, said=heard.text)
    for sentence in sayable.sentences_elsewhere:
        if spoken == canonical(sentence):
            return Meaning("other_sentence", value=sentence, said=heard.text)
    return None


def _without_fillers(words: list[str]) -> str:
    while len(words) > 1 and words[0] in _FILLERS:
        words = words[1:]
    for thanks in _THANKS:
        if len(words) > len(thanks) and tuple(words[-len(thanks) :]) == thanks:
            words = words[: -len(thanks)]
    while len(words) > 1 and words[-1] in _FILLERS:
        words = words[:-1]
    return " ".join(words)
