"""Printed figures and words in the signs that every reader of DXF gets right: plain ASCII.

``3 15/16`` becomes ``3-15/16"``, ``12.25°`` becomes ``12.25 deg``, ``Ø 3/8`` becomes ``3/8" DIA``.
"""

from __future__ import annotations

import re
import unicodedata

from plangen.units import LengthUnit

_WORDS = {"×": "x", "–": "-", "—": "-", "’": "'", "‘": "'", "“": '"', "”": '"', "″": '"', "′": "'", "⁄": "/",
          "ß": "ss", "æ": "ae", "Æ": "AE", "ø": "o", "Ø": "O", "œ": "oe", "ł": "l", "Ł": "L", "°": " deg",
          "½": "1/2", "¼": "1/4", "¾": "3/4", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8"}  # fmt: skip
_NUMBER = r"(?:\d+ \d+/\d+|\d+/\d+|\d+(?:\.\d+)?)"


def ascii_words(text: str) -> str:
    """The text without accents, each sign that has no plain equal as ``?``; one line."""
    plain = "".join(_WORDS.get(sign, sign) for sign in text)
    plain = unicodedata.normalize("NFKD", plain)
    kept = "".join(c for c in plain if not unicodedata.combining(c))
    return "".join(c if " " <= c <= "~" else " " if c.isspace() else "?" for c in kept)


def sheet_words(text: str) -> str:
    """Words and figures of a sheet, unit marks as there: ``Ø 26`` becomes ``DIA 26``."""
    return ascii_words(re.sub(r"[Ø⌀]\s*(?=\d)", "DIA ", text))


def ascii_figure(printed: str, angular: bool, unit: LengthUnit) -> str:
    """A printed figure for a DIMENSION, its unit mark added to inches."""
    text = printed.strip()
    if angular:
        return ascii_words(text if "°" in text else f"{text}°")
    round_ = "Ø" in text or "⌀" in text
    text = ascii_words(re.sub(r"[Ø⌀]\s*", "", text))
    if unit == "in" and '"' not in text and "'" not in text:
        text = re.sub(rf"({_NUMBER})(?!.*\d)", r'\1"', text)
    text = re.sub(r"(\d) (\d+/\d+)", r"\1-\2", text)
    return re.sub(rf'({_NUMBER}"?)(?!.*\d)', r"\1 DIA", text.replace(" x ", " X ")) if round_ else text
