"""One client's measurement sheets: a bride who loses a little before the day. Invented numbers."""

from datetime import timedelta
from uuid import UUID

from clients.fit.lengths import parse_length
from clients.models import Client
from clients.sheets.actions import take_sheet
from studio.demo.life import Life
from studio.shop import clock

BODY = {
    "height": "168",
    "shoulder": "12.5",
    "across_back": "35",
    "arm_length": "59.5",
    "back_waist": "41",
    "waist_to_hip": "20.5",
    "outseam": "105",
    "inseam": "78",
}
# Days ago, and the girths of that day.
DAYS = [
    (110, {"bust": "93", "underbust": "78.5", "waist": "75.5", "hip": "101", "upper_arm": "29"}),
    (52, {"bust": "92", "underbust": "78", "waist": "74", "hip": "100", "upper_arm": "28.5"}),
    (0, {"bust": "91.5", "underbust": "78", "waist": "72.5", "hip": "99", "upper_arm": "28.5"}),
]


def measure(life: Life, client: Client) -> None:
    """Three sheets, the last of them taken today."""
    for ago, girths in DAYS:
        with clock.pretend(life.now - timedelta(days=ago)):
            today = clock.today()
            heel = parse_length("6", "cm")
            take_sheet(
                client=client,
                by=life.owner,
                facts={
                    "taken_on": today,
                    "consent_on": today,
                    "worn": "Corselette of the dress",
                    "heel_mm": heel.mm,
                    "heel_typed": heel.typed,
                    "waist_at": "natural",
                },
                lengths={
                    (key, ""): parse_length(typed, "cm") for key, typed in (BODY | girths).items()
                },
                form_key=UUID(int=life.dice.getrandbits(128)),
            )
