"""Which other language a claim is written in, by words that English does not have."""

from __future__ import annotations

import re
import unicodedata

from woold.words import to_say

__all__ = ["other_language"]

_WORDS = {
    to_say("German"): "bis zu im durchschnitt durchschnittlich mittel mindestens höchstens weniger"
    " mehr als folie spart sparen ersparnis einsparung etwa rund prozent zwischen und über"
    " garantiert bei",
    to_say("French"): "jusqu à jusqu'à en moyenne moins au de plus environ économie économise entre"
    " et pour cent garanti",
    to_say("Spanish"): "hasta en promedio al menos media película ahorra ahorro entre y más de"
    " mínimo máximo",
    to_say("Italian"): "fino al in media almeno circa risparmio risparmia tra e massimo minimo più",
    to_say("Dutch"): "tot gemiddeld minstens minimaal maximaal bespaart besparing folie tussen en"
    " meer dan ongeveer",
    to_say("Portuguese"): "até em média pelo menos economia poupa entre e mais de mínimo máximo",
    to_say("Polish"): "do średnio co najmniej najwyżej oszczędność między a około folii",
    to_say("Swedish"): "upp till i genomsnitt minst högst mellan och sparar ungefär",
    to_say("Norwegian"): "opptil opp til i gjennomsnitt minst høyst mellom og sparer omtrent",
    to_say("Danish"): "op til i gennemsnit mindst højst mellem og sparer cirka",
    to_say("Finnish"): "jopa keskimäärin vähintään enintään säästää noin",
    to_say("Turkish"): "kadar ortalama en az en fazla tasarruf yaklaşık",
    to_say("Czech"): "až průměrně nejméně nejvýše úspora mezi asi",
}
_ANOTHER_LANGUAGE = to_say("another language")
_ENGLISH = {"media", "plus", "do", "a", "i", "or", "to", "in", "e", "y", "de", "cent", "circa"}
_SCRIPTS = {
    "CYRILLIC": to_say("Russian"),
    "CJK": to_say("Chinese"),
    "HIRAGANA": to_say("Japanese"),
    "KATAKANA": to_say("Japanese"),
    "HANGUL": to_say("Korean"),
    "GREEK": to_say("Greek"),
    "ARABIC": to_say("Arabic"),
    "HEBREW": to_say("Hebrew"),
    "THAI": to_say("Thai"),
    "DEVANAGARI": to_say("Hindi"),
}


def other_language(text: str) -> str:
    """English name of the language that the text looks like; "" where it may be English.

    Args:
        text: in lower case.
    """
    for letter in text:
        if letter.isalpha():
            script = unicodedata.name(letter, "").split(" ")[0].split("-")[0]
            if script in _SCRIPTS:
                return _SCRIPTS[script]
    found = re.findall(r"[^\W\d_]+(?:'[^\W\d_]+)?", text)
    scores = {
        language: sum(1.0 if word not in _ENGLISH else 0.4 for word in found if word in listed)
        for language, listed in ((name, set(words.split())) for name, words in _WORDS.items())
    }
    best = max(scores, key=lambda name: scores[name])
    if scores[best] >= 0.8:
        return best
    strange = any(not letter.isascii() for word in found for letter in word)
    return _ANOTHER_LANGUAGE if strange else ""
