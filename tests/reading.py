"""How hard a text is to read: a counted measure, the Flesch-Kincaid grade.

Grade = 0.39 words per sentence + 11.8 syllables per word - 15.59
(Kincaid, Fishburne, Rogers and Chissom 1975; constants from memory).
A term of the glossary counts as one word of one syllable: the course explains it.
"""

import re
from dataclasses import dataclass

_SENTENCE_END = re.compile(r"[.!?](?:\s|$)|\n\s*\n|\n(?=\s*(?:[-*|>#]|\d+\.)\s)")
_WORD = re.compile(r"[A-Za-z]+(?:'[A-Za-z]+)?")
_VOWELS = re.compile(r"[aeiouy]+")


@dataclass(frozen=True)
class Measure:
    """What was counted in a text."""

    sentences: int
    words: int
    syllables: int
    longest: int

    @property
    def grade(self) -> float:
        return 0.39 * self.words / self.sentences + 11.8 * self.syllables / self.words - 15.59

    @property
    def words_in_a_sentence(self) -> float:
        return self.words / self.sentences


def syllables(word: str) -> int:
    """Return the syllables of an English word by its vowel groups, silent endings left out.

    >>> [syllables(word) for word in ("pipe", "kitchen", "pressure", "boiler", "idea", "turned", "tested")]
    [1, 2, 2, 2, 3, 1, 2]
    """
    word = word.lower().removesuffix("'s")
    if len(word) <= 3:
        return max(1, len(_VOWELS.findall(word)) if word.endswith(("y", "o", "a", "i")) else 1)
    found = len(_VOWELS.findall(word))
    if word.endswith("ed") and word[-3] not in "td":
        found -= 1
    elif word.endswith("es") and not word.endswith(("ses", "xes", "zes", "ches", "shes", "ces", "ges")):
        found -= 1
    elif word.endswith("e") and not (word.endswith("le") and word[-3] not in "aeiouy"):
        found -= 1
    found += len(re.findall(r"i[ao](?!u)|eo|ea$|ua|uo|yi", re.sub(r"[cstg]io|[ct]ia", "", word)))
    return max(1, found)


def plain(markdown: str) -> str:
    """Return Markdown as the words a person reads: no code, no links, no marks."""
    text = re.sub(r"```.*?```|`[^`]*`|<[^>]*>", " ", markdown, flags=re.S)
    text = re.sub(r"\[([^\]]*)\]\([^)]*\)", r"\1", text)
    text = re.sub(r"^\s*[|#>]+\s*|^\s*(?:[-*]|\d+\.)\s+|[*_|]", " ", text, flags=re.M)
    return text


def measure(markdown: str, terms: tuple[str, ...] = ()) -> Measure:
    """Return the counts of a text; `terms` are words of the glossary."""
    text = re.sub(r"^#.*$", "", markdown, flags=re.M)  # a heading is no sentence
    for term in sorted(terms, key=len, reverse=True):
        text = re.sub(rf"\b{re.escape(term)}s?\b", " gas ", text, flags=re.I)
    counts = []
    for piece in _SENTENCE_END.split(text):
        words = _WORD.findall(plain(piece))
        if words:
            counts.append(words)
    if not counts:
        raise ValueError("the text has no words")
    words = [word for sentence in counts for word in sentence]
    return Measure(len(counts), len(words), sum(map(syllables, words)), max(map(len, counts)))
