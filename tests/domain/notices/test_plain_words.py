"""The figures of plain words, held against published values; then every letter held to them."""

from __future__ import annotations

import pytest

from notices.domain import plain_words
from notices.domain.content import LetterContent
from notices.domain.content import prose_of as prose_texts
from notices.domain.plain_words import Counts, counts_of, figures_of, prose_of, sentences_of
from tests.domain.notices import every_letter

ABSTRACT = (
    "Existing computer programs that measure readability are based largely upon subroutines which "
    "estimate number of syllables, usually by counting vowels. The shortcoming in estimating "
    "syllables is that it necessitates keypunching the prose into the computer. There is no need "
    "to estimate syllables since word length in letters is a better predictor of readability than "
    "word length in syllables. Therefore, a new readability formula was computed that has for its "
    "predictors letters per 100 words and sentences per 100 words. Both predictors can be counted "
    "by an optical scanning device, and thus the formula makes it economically feasible for an "
    "organization such as the U.S. Office of Education to calibrate the readability of all "
    "textbooks for the public school system."
)
"""The abstract of Coleman and Liau (1975), the worked example of the encyclopedias."""

GETTYSBURG = (
    "Four score and seven years ago our fathers brought forth on this continent, a new nation, "
    "conceived in Liberty, and dedicated to the proposition that all men are created equal. Now "
    "we are engaged in a great civil war, testing whether that nation, or any nation so conceived "
    "and so dedicated, can long endure. We are met on a great battlefield of that war."
)
DECLARATION = (
    "Todos los seres humanos nacen libres e iguales en dignidad y derechos y, dotados como están "
    "de razón y conciencia, deben comportarse fraternalmente los unos con los otros. Todo "
    "individuo tiene derecho a la vida, a la libertad y a la seguridad de su persona. Nadie estará "
    "sometido a esclavitud ni a servidumbre."
)


def test_the_abstract_of_coleman_and_liau_comes_out_as_published() -> None:
    # Wikipedia, "Coleman-Liau index": 5 sentences, 119 words, 639 letters; the index is 14.5.
    counts = counts_of(ABSTRACT)
    assert (counts.sentences, counts.words, counts.letters) == (5, 119, 639)
    assert plain_words.coleman_liau(counts) == pytest.approx(14.5, abs=0.05)


def test_lix_and_letters_are_those_of_a_general_library() -> None:
    # textstat 0.7.13: lix 43.20833, letter_count 283, 64 words, 3 sentences.
    counts = counts_of(GETTYSBURG)
    assert (counts.letters, counts.words, counts.sentences) == (283, 64, 3)
    assert plain_words.lix(counts) == pytest.approx(43.20833, abs=0.0001)
    # textstat 0.7.13: lix 47.85535 of the Spanish text.
    assert plain_words.lix(counts_of(DECLARATION)) == pytest.approx(47.85535, abs=0.0001)


def test_the_spanish_formulas_are_those_of_a_general_library() -> None:
    # textstat 0.7.13 counts 106 syllables by hyphenation: 68.82 and 64.5733 from these counts.
    counts = Counts(letters=252, words=53, sentences=3, long_words=16, syllables=106)
    assert plain_words.fernandez_huerta(counts) == pytest.approx(68.82, abs=0.005)
    # textstat rounds the constant, published as 206.835, to 206.84.
    assert plain_words.inflesz(counts) == pytest.approx(64.57333 - 0.005, abs=0.0001)
    # By the rules of syllables the text has three more: hyphenation leaves single letters whole.
    assert counts_of(DECLARATION).syllables == 109


def test_ari_is_worked_out_as_its_authors_wrote() -> None:
    # By hand from Smith and Senter's equation: 4.71 * 283 / 64 + 0.5 * 64 / 3 - 21.43 = 10.06.
    assert plain_words.ari(counts_of(GETTYSBURG)) == pytest.approx(10.06, abs=0.01)


@pytest.mark.parametrize(
    ("word", "count"),
    [
        ("agua", 2),
        ("día", 2),
        ("guerra", 2),
        ("pingüino", 3),
        ("poeta", 3),
        ("muy", 1),
        ("y", 1),
        ("conciencia", 3),
        ("ahí", 2),
        ("prohibir", 3),
        ("queremos", 3),
        ("averigüéis", 4),
    ],
)
def test_syllables_follow_the_spelling_of_the_academy(word: str, count: int) -> None:
    # Real Academia Española, Ortografía (2010), diphthongs and hiatus.
    assert plain_words.spanish_syllables(word) == count


def test_initials_end_no_sentence_and_a_colon_does() -> None:
    assert sentences_of("Ask the U.S. Office. It answers.") == [
        "Ask the U.S. Office.",
        "It answers.",
    ]
    assert len(sentences_of("Second notice: a test is overdue. Call us.")) == 3
    assert sentences_of("It has 5.2 psid on 29 CFR 1910.146 today.") == [
        "It has 5.2 psid on 29 CFR 1910.146 today."
    ]


def test_sources_in_brackets_and_addresses_are_not_read_as_prose() -> None:
    told = prose_of(["It is due (WAC 246-290-490(4)(b); Flats Code). Ask office@flats.example"])
    assert told == "It is due. Ask correo."


def test_officialese_and_long_sentences_are_named() -> None:
    long = " ".join(["word"] * 26)
    told = list(
        plain_words.warnings_of([f"{long}.", "You shall pay pursuant to it."], language="en")
    )
    assert any("26 words in one sentence" in one for one in told)
    assert any("\u201cshall\u201d" in one for one in told)
    assert any("\u201cpursuant\u201d" in one for one in told)
    assert not list(plain_words.warnings_of(["Call us today."], language="en"))


def test_a_hard_text_breaks_its_limits() -> None:
    assert not any(one.is_kept for one in figures_of(ABSTRACT, language="en"))
    assert not all(one.is_kept for one in figures_of(DECLARATION, language="es"))
    assert list(plain_words.warnings_of([ABSTRACT], language="en"))


EVERY = [sample for language in every_letter.LANGUAGES for sample in every_letter.letters(language)]


@pytest.mark.parametrize(("name", "letter"), EVERY, ids=[name for name, _ in EVERY])
def test_every_letter_is_plain(name: str, letter: LetterContent) -> None:
    texts = prose_texts(letter)
    assert list(plain_words.warnings_of(texts, language=letter.language)) == [], name
    assert len(plain_words.words_of(prose_of(texts))) >= plain_words.LEAST_WORDS
