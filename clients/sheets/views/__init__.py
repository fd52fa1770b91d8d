"""The pages of measurement sheets."""
