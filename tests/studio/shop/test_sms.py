"""How many text messages a text is, against the published alphabet."""

import pytest

from studio.shop.messages.sms import DEFAULT, EXTENSION, length_of

pytestmark = pytest.mark.any_day

# The Unicode Consortium's table "GSM 03.38 default alphabet to Unicode", version 1.1 (unicode.org,
# MAPPINGS/ETSI/GSM0338.TXT): position by position from 0x00, where 0x1B is the escape.
PUBLISHED = " ".join((
    "0040 00A3 0024 00A5 00E8 00E9 00F9 00EC 00F2 00C7 000A 00D8 00F8 000D 00C5 00E5",
    "0394 005F 03A6 0393 039B 03A9 03A0 03A8 03A3 0398 039E ESC 00C6 00E6 00DF 00C9",
    "0020 0021 0022 0023 00A4 0025 0026 0027 0028 0029 002A 002B 002C 002D 002E 002F",
    "0030 0031 0032 0033 0034 0035 0036 0037 0038 0039 003A 003B 003C 003D 003E 003F",
    "00A1 0041 0042 0043 0044 0045 0046 0047 0048 0049 004A 004B 004C 004D 004E 004F",
    "0050 0051 0052 0053 0054 0055 0056 0057 0058 0059 005A 00C4 00D6 00D1 00DC 00A7",
    "00BF 0061 0062 0063 0064 0065 0066 0067 0068 0069 006A 006B 006C 006D 006E 006F",
    "0070 0071 0072 0073 0074 0075 0076 0077 0078 0079 007A 00E4 00F6 00F1 00FC 00E0",
)).split(" ")  # fmt: skip
EXTENDED = ["000C", "005E", "007B", "007D", "005C", "005B", "007E", "005D", "007C", "20AC"]


def test_the_alphabet_is_the_published_one():
    assert len(PUBLISHED) == 128
    assert {chr(int(code, 16)) for code in PUBLISHED if code != "ESC"} == DEFAULT
    assert {chr(int(code, 16)) for code in EXTENDED} == EXTENSION


# Septets and units counted by hand after 3GPP TS 23.038 and 23.040 (153 and 67 for each part).
CASES = [
    ("", 0, 1, 160),
    ("a" * 160, 160, 1, 160),
    ("a" * 161, 161, 2, 306),
    ("a" * 306, 306, 2, 306),
    ("a" * 307, 307, 3, 459),
    ("€" * 80, 160, 1, 160),
    # A letter of two septets is not cut: the last septet of the first part stays empty.
    ("a" * 152 + "€" + "a" * 7, 162, 2, 306),
    ("ż" * 70, 70, 1, 70),
    ("ż" * 71, 71, 2, 134),
    ("ż" * 134, 134, 2, 134),
    ("ż" * 135, 135, 3, 201),
    ("🧵" * 35, 70, 1, 70),
    # Nor is a letter of two units of 16 bits.
    ("ż" * 66 + "🧵" + "ż" * 4, 73, 2, 134),
    ("Grüße, Größe", 12, 1, 160),
    ("ça va", 5, 1, 70),
]


def test_parts_and_room():
    for text, used, parts, room in CASES:
        length = length_of(text)
        assert (length.used, length.parts, length.room) == (used, parts, room), text[:20]
        assert length.left == room - used
