"""What the pages draw: garments in their colour, bars of hours, charts.

Plain data in and out. Nothing here knows Django; ``templatetags/look.py`` puts it on the pages.
"""
