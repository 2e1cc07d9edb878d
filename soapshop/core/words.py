"""Words and figures of the calculations, in the language of the reader.

`shared` speaks English and knows nothing of languages. What it says with figures in it is a `Phrase`; what it
says in fixed words is listed here, so that `manage.py makemessages` finds it.
"""

from __future__ import annotations

from django.utils.formats import get_format
from django.utils.translation import gettext, gettext_noop

from shared.words import Phrase

FIXED = (
    # Translators: the three verdicts on a pot of soap.
    gettext_noop("safe"),
    gettext_noop("watch"),
    gettext_noop("stop"),
    gettext_noop("the scale"),
    gettext_noop("Sodium hydroxide"),
    gettext_noop("Potassium hydroxide"),
    gettext_noop("Citric acid, anhydrous"),
    gettext_noop("Citric acid monohydrate"),
    gettext_noop("Lactic acid"),
    gettext_noop("Acetic acid"),
)


def in_words(english: str) -> str:
    """What `shared` says, in the reader's language. Text that is no message of ours stays as it is."""
    if not isinstance(english, Phrase):
        return gettext(english) if english else ""
    figures = {
        name: in_words(figure) if isinstance(figure, Phrase) else figure
        for name, figure in english.figures.items()
    }
    return gettext(english.pattern) % figures if figures else gettext(english.pattern)


def with_decimal_sign(figure: str) -> str:
    """A figure written with a decimal point, with the sign of the reader's language instead."""
    return figure.replace(".", str(get_format("DECIMAL_SEPARATOR")))
