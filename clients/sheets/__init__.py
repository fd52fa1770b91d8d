"""Measurement sheets: taking one, looking back over several, and the owner's own ranges."""
