"""Whether the fragrance in a bar keeps the limits of its certificates, and which allergens a label names.

Shares and limits are % m/m, weights grams. A limit is the most of a fragrance, or of a substance in it, in
the finished product of one category of the IFRA Standards; bar soap is in Category 9 since their 49th
Amendment. The finished bar decides: what it loses in the cure raises the share of the fragrance.
"""

from shared.fragrance.inputs import Certified, Dose, FragranceError, Substance
from shared.fragrance.judging import NAMED_ABOVE, assess
from shared.fragrance.result import Allergen, FragranceVerdict, SubstanceVerdict, Verdict

__all__ = [
    "NAMED_ABOVE",
    "Allergen",
    "Certified",
    "Dose",
    "FragranceError",
    "FragranceVerdict",
    "Substance",
    "SubstanceVerdict",
    "Verdict",
    "assess",
]
