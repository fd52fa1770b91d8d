"""In which letters a file is written: what it says of itself, else what reads most like names.

A file without a mark is UTF-8 where all of it is; the chance that another is by accident is small
(RFC 3629, 1). Else each charset that could have written it is tried on the letters beyond ASCII
and their neighbours: a capital within a word, a drawing sign or a rare letter speaks against it,
and so does a word with letters of which no language has all, or of a language that nobody else in
the file has. That is a guess (the weights are common practice), so whoever sent the file sees it,
and chooses another.
The tables of the charsets are Python's own (``codecs``).
"""

import codecs
import re
from bisect import bisect_right
from collections.abc import Collection, Sequence
from contextlib import suppress
from dataclasses import dataclass
from itertools import islice

CHARSETS = {
    "utf-8": "UTF-8",
    "cp1252": "Windows-1252",
    "iso8859-15": "ISO-8859-15",
    "mac_roman": "Mac Roman",
    "cp850": "code page 850",
    "cp1250": "Windows-1250",
    "iso8859-2": "ISO-8859-2",
    "cp852": "code page 852",
    "utf-16-le": "UTF-16",
    "utf-16-be": "UTF-16, big end first",
}
GUESSED = ("cp1252", "iso8859-15", "mac_roman", "cp850", "cp1250", "iso8859-2", "cp852")
MARKS = {
    codecs.BOM_UTF8: "utf-8-sig",
    codecs.BOM_UTF32_LE: "utf-32",  # begins like that of UTF-16
    codecs.BOM_UTF16_LE: "utf-16",
    codecs.BOM_UTF16_BE: "utf-16",
}
BEYOND = re.compile(rb"[\x80-\xff]+")
UTF_8 = re.compile(rb"[\xc2-\xdf][\x80-\xbf]|[\xe0-\xef][\x80-\xbf]{2}|[\xf0-\xf4][\x80-\xbf]{3}")
ESCAPED = re.compile("[\udc80-\udcff]+")  # how Python keeps a byte that is no UTF-8
LOOKED_THROUGH = 64 * 1024
NEIGHBOURS = 12
MOST_PLACES, LONGEST = 4000, 60
# Letters beyond ASCII by how usual they are in names of Western and Middle Europe, best first.
USUAL = {
    letter: weight
    for weight, letters in (
        (3.0, "éöüäßèëñáíóøåçÉÖÜÄÁÓØÅ"),
        (2.0, "àúêôâïœŒæãõÀÚÍÇÑÈłńśżąęćšžčŁŚŠŽČ"),
        (1.5, "űřěůőŰŘŐ"),
        (1.0, "ùûòìîýðþÂÊÎÔÆźŻŹďňťľđăşţĎŇŤĽĐĂŞŢ"),
    )
    for letter in letters
}
# The small letters beyond ASCII of Europe's languages (common practice: their usual alphabets).
ALPHABETS = tuple(
    map(
        frozenset,
        (
            "äöüß", "áéíóú", "àâæçèéêëîïôœùûüÿ", "áéíñóúü", "áâãàçéêíóôõú", "æøåéü", "åäöéü",
            "áæéðíóöúýþ", "äõöüšž", "àèéìîòùó", "áčďéěíňóřšťúůýž", "áäčďéíĺľňóôŕšťúýž",
            "áéíóöőúüű", "ąćęłńóśźż", "čćđšž", "ăâîşţ",
        ),
    )
)  # fmt: skip
# What a word loses by the place of its language among those of the file; the last: by none.
STRANGE = (0.0, -2.0, -3.0, -5.0)
SIGNS = set("€°§№ªº«»„“”‘’‚…–—•·¡¿£½¼¾²³µ®©™\u00a0")  # noqa: RUF001 -- these are meant
APOSTROPHE, ALONE = "\u2019", "\u2013\u2014\u201c\u201d\u201e€°½"
VOWELS = {"a": "áàâäãå", "e": "éèêë", "i": "íìîï", "o": "óòôöõø", "u": "úùûü"}
WORD = re.compile(r"[^\W\d_]+")
# How a word is not written: a vowel beside others, a consonant among its like, and what Polish,
# Spanish, French, Portuguese and Icelandic never have there (common practice).
_VOWELS = "aeiouyáéíóúýäëöüàâêô"
UNLIKELY = {
    re.compile(pattern): weight
    for pattern, weight in (
        ("[aeouyáéíóúý][èêìòø]|[èìòøæ][aeiouyáéíóúý]|[aeiouyáéíóúý][æåùö]", -2.0),
        ("(?<![aeiouyáéíóúý])ï(?![aeiouyáéíóúý])", -2.0),
        (f"(?<![{_VOWELS}ěůőűăâ])[čřňťďćńđşţ](?![{_VOWELS}ěůőűăâ])", -2.0),
        ("ń[aeiouyáéíóú]|ñ(?![aeiouyáéíóú])|œ(?![uil])|ã(?![oesi]|$)|þ$", -3.0),
        ("õ(?!e)|ů$", -1.5),
    )
}


@dataclass(frozen=True)
class Letters:
    """A file's text, and how it was read.

    ``mended`` are the lines of a UTF-8 file that hold letters of Windows-1252: they were read so.
    """

    text: str
    charset: str
    is_guess: bool = False
    mended: tuple[int, ...] = ()

    @property
    def name(self) -> str:
        return CHARSETS.get(self.charset, self.charset)

    def mended_of(self, begins: Sequence[int]) -> set[int]:
        """Which of the rows that begin on these lines, in order, hold mended letters."""
        return {begins[at - 1] for line in self.mended if (at := bisect_right(begins, line))}


def letters_of(data: bytes, chosen: str = "") -> Letters:
    """Raises UnicodeDecodeError where nothing reads it, or not the charset that was chosen."""
    if chosen:
        return Letters(data.decode(chosen).removeprefix("\ufeff"), chosen)
    for mark, charset in MARKS.items():
        if data.startswith(mark):
            return Letters(data.decode(charset), charset)
    if wide := _wide(data):
        return Letters(data.decode(wide), wide, is_guess=True)
    try:
        return Letters(data.decode(), "utf-8")
    except UnicodeDecodeError:
        return _mended(data) if _is_mostly_utf_8(data) else _guessed(data)


def code_of(name: str) -> str:
    """The one of ``GUESSED`` that is called so; empty for any other."""
    return next((code for code in GUESSED if CHARSETS[code] == name), "")


def read_again(text: str, was: str, now: str) -> str:
    """What was read as one of ``GUESSED``, read as another of them: its bytes are the same.

    What holds a letter that ``was`` has not came by another way, and stays. Raises
    UnicodeDecodeError.
    """
    if text.isascii():
        return text
    try:
        return text.encode(was).decode(now)
    except UnicodeEncodeError:
        return text


@dataclass(frozen=True)
class OtherReading:
    """What texts are in the letters of another charset."""

    charset: str
    texts: list[str]

    @property
    def name(self) -> str:
        return CHARSETS[self.charset]


def other_readings(texts: list[str], was: str) -> list[OtherReading]:
    """How texts that were read as ``was`` could be read, each way once, the likeliest first."""
    readings: dict[tuple[str, ...], OtherReading] = {tuple(texts): OtherReading(was, texts)}
    for charset in GUESSED:
        with suppress(UnicodeDecodeError):
            told = [read_again(text, was, charset) for text in texts]
            readings.setdefault(tuple(told), OtherReading(charset, told))
    others = list(readings.values())[1:]
    return sorted(others, key=lambda reading: -_likeness_of_all(reading.texts))


def _wide(data: bytes) -> str:
    """UTF-16 without a mark: every second byte of what is Latin, of line ends and of signs is 0."""
    head = data[:LOOKED_THROUGH]
    even, odd = head[0::2].count(0), head[1::2].count(0)
    few = max(len(head) // 12, 2)
    if odd > max(few, 4 * even):
        return "utf-16-le"
    return "utf-16-be" if even > max(few, 4 * odd) else ""


def _is_mostly_utf_8(data: bytes) -> bool:
    good = bad = 0
    for found in islice(BEYOND.finditer(data), MOST_PLACES):
        run = found[0][:LONGEST]
        whole = [letter[0] for letter in UTF_8.finditer(run)]
        good += sum(letter.decode(errors="ignore") in _EXPECTED for letter in whole)
        bad += len(run) - sum(map(len, whole))
    return good > 0 and good * 2 >= bad


_EXPECTED = {*USUAL, *SIGNS}


def _mended(data: bytes) -> Letters:
    """UTF-8 with the rest read as Windows-1252, as where rows were put together from two files."""
    text = data.decode(errors="surrogateescape")
    sign = "\n" if "\n" in text else "\r"
    parts: list[str] = []
    lines: dict[int, None] = {}
    line, ends = 1, 0
    for found in ESCAPED.finditer(text):
        line += text.count(sign, ends, found.start())
        lines[line] = None
        parts += [text[ends : found.start()], _by_itself(found[0].encode(errors="surrogateescape"))]
        ends = found.end()
    text = "".join([*parts, text[ends:]])
    return Letters(text, "utf-8", is_guess=True, mended=tuple(lines))


def _by_itself(data: bytes) -> str:
    try:
        return data.decode("cp1252")
    except UnicodeDecodeError:
        return data.decode("cp850")


def _guessed(data: bytes) -> Letters:
    places = {
        data[max(run.start() - NEIGHBOURS, 0) : min(run.end(), run.start() + LONGEST) + NEIGHBOURS]
        for run in islice(BEYOND.finditer(data), MOST_PLACES)
    }
    likely = {charset: _likeness(places, charset) for charset in GUESSED}
    for charset in sorted(likely, key=lambda charset: -likely[charset]):
        try:
            return Letters(data.decode(charset), charset, is_guess=True)
        except UnicodeDecodeError as error:
            failed = error
    raise failed


def _likeness(places: set[bytes], charset: str) -> float:
    """How much these places read like names and addresses; the first of several alike is taken."""
    try:
        return _likeness_of_all([place.decode(charset) for place in places])
    except UnicodeDecodeError:
        return float("-inf")


def _likeness_of_all(texts: Collection[str]) -> float:
    words = {word.lower() for text in texts for word in WORD.findall(text) if not word.isascii()}
    return sum(map(_likeness_of, texts)) + _likeness_of_words(words)


def _likeness_of_words(words: set[str]) -> float:
    """How few languages have these words: most are of one, and no word is of two."""
    weight = sum(
        against for word in words for unlikely, against in UNLIKELY.items() if unlikely.search(word)
    )
    left = [{letter for letter in word if letter >= "\x80"} for word in words]
    for strange in STRANGE[:-1]:
        most = max(ALPHABETS, key=lambda alphabet: sum(word <= alphabet for word in left))
        rest = [word for word in left if not word <= most]
        weight += strange * (len(left) - len(rest))
        left = rest
    return weight + STRANGE[-1] * len(left)


def _likeness_of(text: str) -> float:
    padded = f" {text} "
    return sum(
        _weight(padded[at - 1], letter, padded[at + 1], padded[:at])
        for at, letter in enumerate(padded)
        if letter >= "\x80"
    )


def _weight(before: str, letter: str, after: str, head: str) -> float:
    if not letter.isalpha():
        return _weight_of_sign(before, letter, after, head)
    weight = USUAL.get(letter, -1.0)
    if not (before.isalpha() or after.isalpha()):
        return weight - 3
    if letter.isupper() and (before.islower() or (before.isupper() and after.islower())):
        return -4
    if letter.islower() and before.isupper() and after.isupper():
        return -3
    if letter.islower() and not before.isalpha():
        weight -= 1
    if any(letter in marked and base in (before, after) for base, marked in VOWELS.items()):
        weight -= 2
    return weight


def _weight_of_sign(before: str, letter: str, after: str, head: str) -> float:
    if letter not in SIGNS:
        return -10 if "\x80" <= letter < "\xa0" else -5
    within = before.isalpha() and after.isalpha()
    if letter == APOSTROPHE:
        start = re.split(r"\W", head)[-1]
        return 3 if not within or len(start) <= 2 or after == "s" else 0  # O'Brien, Mary's
    if within:
        return -5
    return 1 if letter in ALONE else 0
