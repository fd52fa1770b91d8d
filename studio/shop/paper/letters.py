"""Which letters no font of this machine has, so that it is said before they are missing on paper.

Papers take each letter from whatever installed font has it; fontconfig, which the renderer asks as
well, knows them all. It is asked directly: loading the renderer takes a second.
"""

import ctypes
import ctypes.util
import unicodedata
from functools import lru_cache

FC_SET_SYSTEM, FC_RESULT_MATCH = 0, 0  # fontconfig.h
LATIN = 0x250  # what lies below is in Inter, which papers are set in
SKIPPED = frozenset({"Cc", "Cf", "Mn", "Zs", "Zl", "Zp"})  # joined to others, or blank


class FontSet(ctypes.Structure):
    _fields_ = [
        ("nfont", ctypes.c_int),
        ("sfont", ctypes.c_int),
        ("fonts", ctypes.POINTER(ctypes.c_void_p)),
    ]


@lru_cache
def _charsets() -> tuple[ctypes.CDLL, list[ctypes.c_void_p]] | None:
    """Fontconfig and what each installed font has; None where it is not there to be asked."""
    name = ctypes.util.find_library("fontconfig")
    if name is None:
        return None
    library = ctypes.CDLL(name)
    library.FcInitLoadConfigAndFonts.restype = ctypes.c_void_p
    library.FcConfigGetFonts.restype = ctypes.POINTER(FontSet)
    library.FcConfigGetFonts.argtypes = [ctypes.c_void_p, ctypes.c_int]
    library.FcPatternGetCharSet.argtypes = [
        ctypes.c_void_p, ctypes.c_char_p, ctypes.c_int, ctypes.POINTER(ctypes.c_void_p),
    ]  # fmt: skip
    library.FcCharSetHasChar.argtypes = [ctypes.c_void_p, ctypes.c_uint32]
    fonts = library.FcConfigGetFonts(library.FcInitLoadConfigAndFonts(), FC_SET_SYSTEM)
    found = []
    for place in range(fonts.contents.nfont if fonts else 0):
        charset = ctypes.c_void_p()
        pattern = fonts.contents.fonts[place]
        asked = library.FcPatternGetCharSet(pattern, b"charset", 0, ctypes.byref(charset))
        if asked == FC_RESULT_MATCH:
            found.append(charset)
    return library, found


@lru_cache(maxsize=4096)
def _printable(letter: str) -> bool:
    if ord(letter) < LATIN or unicodedata.category(letter) in SKIPPED:
        return True
    known = _charsets()
    if known is None:
        return True
    library, charsets = known
    return any(library.FcCharSetHasChar(charset, ord(letter)) for charset in charsets)


def unprintable(text: str) -> str:
    """The letters of a text that no font here has, once each, with blanks between them."""
    return " ".join(letter for letter in dict.fromkeys(text) if not _printable(letter))


def font_for(letters: str) -> str:
    """Debian's package of a font that has them."""
    names = [unicodedata.name(letter, "") for letter in letters if not letter.isspace()]
    if any(name.startswith(("CJK", "HIRAGANA", "KATAKANA", "HANGUL")) for name in names):
        return "fonts-droid-fallback"
    signs = all(unicodedata.category(letter) == "So" for letter in letters if not letter.isspace())
    return "fonts-noto-color-emoji" if signs else "fonts-noto-core"
