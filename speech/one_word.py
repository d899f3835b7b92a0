"""Which single words an utterance may have been: the recogniser's own belief, summed over the ways of writing each.

Of a word of a second the likeliest text is often another of nearly the same sound ('stuff.' for 'stop'), and the word
that was said is spread over 'stop', 'Stop', 'stop.' and 'Stop!', none of which comes among the best five. One step
of decoding of the sound that is encoded already gives the share of each first token, and one more how surely
nothing follows it. Nothing is held to a list here: what can be said now is looked for among these words by who knows it.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from speech.ear import plain

if TYPE_CHECKING:
    from faster_whisper.tokenizer import Tokenizer

LONGEST_S = 2.5  # of sound with the quiet around it: a word and the pause after it
SPELLINGS = 60  # first tokens that are looked at
LEAST_SHARE = 0.04
TOKENS = 3  # a word, its stop and the end: the share's logarithm is spread over them, as that of any text is
_ENDINGS = 12
_STOPS = (".", "!", "?", "...")


def one_words(
    model: Any, encoded: Any, prompt: Sequence[int], suppressed: Sequence[int], words: Tokenizer
) -> list[tuple[str, float]]:
    """Single words and how sure of each (mean log probability per token, as for any text), likeliest first.

    Args:
        model: CTranslate2's whisper. encoded: the sound, from its `encode`.
        prompt: tokens before the text. suppressed: tokens that no text has.
    """
    shares: dict[str, float] = {}
    likeliest: dict[str, int] = {}
    for ids, share in _next(model, encoded, prompt, suppressed, SPELLINGS):
        word = plain(words.decode(ids))
        if not ids or not word:
            continue
        shares[word] = shares.get(word, 0.0) + share
        likeliest.setdefault(word, ids[0])
    found = []
    for word, share in shares.items():
        if share < LEAST_SHARE:
            continue
        alone = share * _ends(model, encoded, [*prompt, likeliest[word]], suppressed, words)
        if alone >= LEAST_SHARE:
            found.append((word, math.log(alone) / TOKENS))
    return sorted(found, key=lambda one: -one[1])


def _ends(
    model: Any, encoded: Any, prompt: Sequence[int], suppressed: Sequence[int], words: Tokenizer
) -> float:
    """How surely nothing follows the word that the prompt ends with, but a stop: '10.' may go on as '10.5'."""
    after = _next(model, encoded, prompt, suppressed, _ENDINGS)
    nothing, stops, likeliest = 0.0, 0.0, None
    for ids, share in after:
        if not ids[1:]:
            nothing += share
        elif words.decode(ids[1:]).strip() in _STOPS:
            stops += share
            likeliest = likeliest or ids[1]
    if likeliest is not None:
        beyond = _next(model, encoded, [*prompt, likeliest], suppressed, 1)
        stops *= beyond[0][1] if not beyond[0][0][2:] else 0.0
    return nothing + stops


def _next(
    model: Any, encoded: Any, prompt: Sequence[int], suppressed: Sequence[int], most: int
) -> list[tuple[list[int], float]]:
    """The likeliest next tokens with their probabilities; the end as []. Text that the prompt holds stands before each."""
    result = model.generate(
        encoded,
        [list(prompt)],
        beam_size=most,
        num_hypotheses=most,
        max_length=len(prompt) + 1,
        length_penalty=0,
        return_scores=True,
        suppress_blank=False,
        suppress_tokens=list(suppressed),
    )[0]
    return [(list(ids), math.exp(s)) for ids, s in zip(result.sequences_ids, result.scores, strict=True)]
