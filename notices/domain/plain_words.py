"""How plain a text is: long sentences, words not to be used, and figures of reading ease.

Sources of the formulas:
ARI: Smith and Senter, Automated Readability Index, AMRL-TR-66-220 (1967).
Coleman-Liau: Journal of Applied Psychology 60 (1975), 283-284.
LIX: C. H. Björnsson, Läsbarhet (1968).
Fernández Huerta: Consigna 214 (1959), words in a sentence; the constants as textstat has them.
INFLESZ: Szigriszt-Pazos (1993), read on the scale of Barrio-Cantalejo and others, Anales del
Sistema Sanitario de Navarra 31 (2008), 135-152.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

LONGEST_SENTENCE = 25
"""Words. The usual advice of plain-language guides: about 20 on average, 25 at most."""

_LONG_WORD = 6
"""Letters; LIX counts words with more."""

_END = re.compile(r"(?<=[.!?:])[\u201d\"')]*\s+(?=\W*[\w])")
_WORD = re.compile(r"[^\W_]+(?:['\u2019.@,/-][^\W_]+)*")
_INITIALS = re.compile(r"\b(?:[A-Z]\.){2,}|\bNo\.")
_SOURCE = re.compile(r"\s*\((?:[^()]|\([^()]*\))*\)")
_ADDRESS = re.compile(r"\S+@\S+")

_NOT_PLAIN = {
    "en": re.compile(
        r"\b(shall|pursuant|hereby|herein|hereof|hereinafter|thereof|aforementioned|"
        r"notwithstanding|heretofore|forthwith)\b",
        re.IGNORECASE,
    ),
    "es": re.compile(
        r"\b(deberáse|mediante la presente|por la presente|el suscrito|antedich[oa]s?|"
        r"susodich[oa]s?|precitad[oa]s?|fehaciente(?:mente)?|a la mayor brevedad|so pena)\b",
        re.IGNORECASE,
    ),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Counts:
    """What the formulas count. `letters` are letters and figures."""

    letters: int
    words: int
    sentences: int
    long_words: int
    syllables: int
    """By the rules of Spanish; of no meaning for other languages."""


@dataclass(frozen=True, slots=True)
class Figure:
    """One figure of a text beside the limit it must keep."""

    name: str
    value: float
    limit: float
    is_least: bool = False

    @property
    def is_kept(self) -> bool:
        """Whether the text is plain enough by this figure."""
        return self.value >= self.limit if self.is_least else self.value <= self.limit


LIMITS = {
    "en": {"ARI": 7.0, "Coleman\u2013Liau": 8.0, "LIX": 32.0},
    "es": {"LIX": 45.0, "Fern\u00e1ndez Huerta": 67.0, "INFLESZ": 62.0},
}
"""At most; of Fernández Huerta and INFLESZ at least. docs/plain-words.md says why."""

LEAST_WORDS = 60
"""Below this the figures say nothing: one long word moves them."""


def sentences_of(text: str) -> list[str]:
    """Return the sentences; a colon ends one, as LIX has it, an initial does not."""
    whole = _INITIALS.sub(lambda found: found.group().replace(".", "\u2024"), text)
    return [part.replace("\u2024", ".") for part in _END.split(whole.strip()) if part.strip()]


def words_of(text: str) -> list[str]:
    """Return the words; what a hyphen or an apostrophe joins is one."""
    return _WORD.findall(text)


def prose_of(texts: Sequence[str]) -> str:
    """Return texts as prose to be measured: without sources in brackets and e-mail addresses."""
    told = (_ADDRESS.sub("correo", _SOURCE.sub("", text)) for text in texts)
    return " ".join(text if text.rstrip()[-1:] in ".!?:" else f"{text}." for text in told if text)


def counts_of(text: str) -> Counts:
    """Count a text."""
    words = words_of(text)
    return Counts(
        letters=sum(letter.isalnum() for word in words for letter in word),
        words=len(words),
        sentences=max(1, len(sentences_of(text))),
        long_words=sum(sum(map(str.isalnum, word)) > _LONG_WORD for word in words),
        syllables=sum(spanish_syllables(word) for word in words),
    )


def ari(counts: Counts) -> float:
    """Return the automated readability index: about the school year that reads it."""
    return 4.71 * counts.letters / counts.words + 0.5 * counts.words / counts.sentences - 21.43


def coleman_liau(counts: Counts) -> float:
    """Return the index of Coleman and Liau: about the school year that reads it."""
    letters = 100 * counts.letters / counts.words
    sentences = 100 * counts.sentences / counts.words
    return 0.0588 * letters - 0.296 * sentences - 15.8


def lix(counts: Counts) -> float:
    """Return LIX: words in a sentence, plus long words in a hundred."""
    return counts.words / counts.sentences + 100 * counts.long_words / counts.words


def fernandez_huerta(counts: Counts) -> float:
    """Return the ease of a Spanish text: 60 to 70 is normal for adults, more is easier."""
    return 206.84 - 60 * counts.syllables / counts.words - 1.02 * counts.words / counts.sentences


def inflesz(counts: Counts) -> float:
    """Return the ease of a Spanish text: 55 to 65 is normal, 65 to 80 quite easy."""
    return 206.835 - 62.3 * counts.syllables / counts.words - counts.words / counts.sentences


_FORMULAS = {
    "ARI": ari,
    "Coleman\u2013Liau": coleman_liau,
    "LIX": lix,
    "Fern\u00e1ndez Huerta": fernandez_huerta,
    "INFLESZ": inflesz,
}
_LEAST = frozenset({"Fern\u00e1ndez Huerta", "INFLESZ"})


def figures_of(text: str, *, language: str) -> tuple[Figure, ...]:
    """Return the figures of a text that its language is held to."""
    counts = counts_of(text)
    if not counts.words:
        return ()
    limits = LIMITS.get(language, LIMITS["en"])
    return tuple(
        Figure(name, round(_FORMULAS[name](counts), 1), limit, name in _LEAST)
        for name, limit in limits.items()
    )


def words_not_plain(text: str, *, language: str) -> tuple[str, ...]:
    """Return the words of officialese in a text."""
    found = _NOT_PLAIN.get(language, _NOT_PLAIN["en"]).finditer(text)
    return tuple(dict.fromkeys(one.group().lower() for one in found))


def long_sentences(text: str) -> tuple[str, ...]:
    """Return the sentences with more words than a reader holds."""
    return tuple(one for one in sentences_of(text) if len(words_of(one)) > LONGEST_SENTENCE)


def warnings_of(texts: Sequence[str], *, language: str) -> Iterator[str]:
    """Say what is not plain in a letter's sentences, each time naming the sentence or figure."""
    for text in texts:
        for sentence in long_sentences(_SOURCE.sub("", text)):
            yield (
                f"{len(words_of(sentence))} words in one sentence, at most {LONGEST_SENTENCE}: "
                f"\u201c{sentence}\u201d"
            )
        for word in words_not_plain(text, language=language):
            yield f"\u201c{word}\u201d is officialese: \u201c{text}\u201d"
    prose = prose_of(texts)
    if len(words_of(prose)) < LEAST_WORDS:
        return
    for figure in figures_of(prose, language=language):
        if not figure.is_kept:
            bound = "at least" if figure.is_least else "at most"
            yield (
                f"{figure.name} of the whole letter is {figure.value:g}; {bound} "
                f"{figure.limit:g} is plain. Shorter sentences and words mend it."
            )


_VOWELS = re.compile(r"[aeiouáéíóúü]+", re.IGNORECASE)
_STRONG = frozenset("aeoáéó")
_ACCENTED_WEAK = frozenset("íú")


def spanish_syllables(word: str) -> int:
    """Return the syllables of a Spanish word: hiatus between strong vowels, and at í and ú."""
    text = re.sub(r"(?<=[gq])u(?=[eiéí])", "", word.lower())
    text = re.sub(r"y(?![aeiouáéíóú])", "i", text)
    return max(1, sum(_nuclei(found.group()) for found in _VOWELS.finditer(text)))


def _nuclei(vowels: str) -> int:
    count, before = 0, ""
    for vowel in vowels:
        is_own = (
            not before
            or vowel in _ACCENTED_WEAK
            or before in _ACCENTED_WEAK
            or (vowel in _STRONG and before in _STRONG)
        )
        count += is_own
        before = vowel
    return count
