"""Figures: the ten digits of CLDR's decimal numbering systems."""

from __future__ import annotations

import unicodedata

# The figure 0 of each decimal numbering system that is some CLDR locale's own; the other nine
# follow it in Unicode. Named by the Unicode name of the character, so that a reader can check.
_ZERO_NAMES = {
    "latn": "DIGIT ZERO",
    "adlm": "ADLAM DIGIT ZERO",
    "arab": "ARABIC-INDIC DIGIT ZERO",
    "arabext": "EXTENDED ARABIC-INDIC DIGIT ZERO",
    "beng": "BENGALI DIGIT ZERO",
    "cakm": "CHAKMA DIGIT ZERO",
    "deva": "DEVANAGARI DIGIT ZERO",
    "gujr": "GUJARATI DIGIT ZERO",
    "guru": "GURMUKHI DIGIT ZERO",
    "hmnp": "NYIAKENG PUACHUE HMONG DIGIT ZERO",
    "java": "JAVANESE DIGIT ZERO",
    "khmr": "KHMER DIGIT ZERO",
    "knda": "KANNADA DIGIT ZERO",
    "laoo": "LAO DIGIT ZERO",
    "mlym": "MALAYALAM DIGIT ZERO",
    "mong": "MONGOLIAN DIGIT ZERO",
    "mtei": "MEETEI MAYEK DIGIT ZERO",
    "mymr": "MYANMAR DIGIT ZERO",
    "nkoo": "NKO DIGIT ZERO",
    "olck": "OL CHIKI DIGIT ZERO",
    "orya": "ORIYA DIGIT ZERO",
    "tamldec": "TAMIL DIGIT ZERO",
    "telu": "TELUGU DIGIT ZERO",
    "thai": "THAI DIGIT ZERO",
    "tibt": "TIBETAN DIGIT ZERO",
    "vaii": "VAI DIGIT ZERO",
}

NUMBERING = tuple(_ZERO_NAMES)
"""The numbering systems there are, by their CLDR identifiers."""


def digits(system: str) -> str:
    """The figures 0 to 9 of a numbering system, one of ``NUMBERING``.

    >>> digits("deva")
    '०१२३४५६७८९'
    """
    zero = ord(unicodedata.lookup(_ZERO_NAMES[system]))
    return "".join(chr(zero + n) for n in range(10))
