"""Sentences that can be put into another language: English here, without knowing which language is wanted."""

from __future__ import annotations


class Phrase(str):
    """An English sentence with its figures put in, that still knows the sentence and the figures.

    ``pattern`` names the figures as in "%(unit)s is not known."; without figures it is plain text. A figure
    that is a Phrase itself can be translated too; any other stands as it is.
    """

    pattern: str
    figures: dict[str, object]

    def __new__(cls, pattern: str, **figures: object) -> Phrase:
        phrase = super().__new__(cls, pattern % figures if figures else pattern)
        phrase.pattern, phrase.figures = pattern, figures
        return phrase
